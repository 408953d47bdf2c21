//! The Keepside editor: draws the session, turns input into edits and commands.
