//! What leaves for the bench: drilling sheets and hole tables, as bytes.
