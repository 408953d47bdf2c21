//! Project files: reading, versions, atomic saving, backups, recent files.
