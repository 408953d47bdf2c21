//! Holds: everything that resists separation on one half, each with its pull-off curve.
