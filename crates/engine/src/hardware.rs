//! Standard screws: threads, heads, sockets, drills.
