//! The command line as a function: arguments in, text and exit code out.
