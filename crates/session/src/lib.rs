//! The editor without a window: history, selection, snapping, background analysis.
