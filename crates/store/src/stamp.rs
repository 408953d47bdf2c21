//! What tells whether a file still holds what it held.

use std::io;
use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::file;

/// Size and hash of what a file held when it was read or written. Two states of a project differ in
/// one of them, but for a chance of 1 in 2^64; it is no protection against ill will.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stamp {
    size_bytes: u64,
    hash: u64,
}

impl Stamp {
    /// The stamp of these bytes, the same on every system.
    pub fn of(bytes: &[u8]) -> Self {
        Self { size_bytes: bytes.len() as u64, hash: fnv(bytes) }
    }

    /// The stamp of a file now; `None` if there is no such file.
    ///
    /// # Errors
    ///
    /// The file is there and cannot be read.
    pub fn of_file(path: &Path) -> io::Result<Option<Self>> {
        match file::read_bytes(path) {
            Ok(bytes) => Ok(Some(Self::of(&bytes))),
            Err(crate::LoadError::NotFound { .. }) => Ok(None),
            Err(error) => Err(io::Error::other(error)),
        }
    }
}

/// The 64-bit FNV-1a hash.
///
/// Source: RFC 9923, The FNV Non-Cryptographic Hash Algorithm; offset basis and prime from memory, the
/// values in the test from memory as well.
pub(crate) fn fnv(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hash_is_the_published_one() {
        for (text, expected) in
            [("", 0xcbf2_9ce4_8422_2325), ("a", 0xaf63_dc4c_8601_ec8c), ("foobar", 0x8594_4171_f739_67e8)]
        {
            assert_eq!(fnv(text.as_bytes()), expected, "{text}");
        }
    }

    #[test]
    fn one_other_byte_is_another_stamp() {
        assert_ne!(Stamp::of(b"x: 80.0"), Stamp::of(b"x: 81.0"));
        assert_ne!(Stamp::of(b""), Stamp::of(b"\n"));
    }

    #[test]
    fn a_missing_file_has_no_stamp_and_a_folder_is_an_error() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(Stamp::of_file(&folder.path().join("a")).unwrap(), None);
        assert!(Stamp::of_file(folder.path()).is_err());
    }
}
