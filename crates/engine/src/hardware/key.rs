//! The keys that turn screws with a hexagon socket.

use super::table;

/// A hexagon socket screw key, ISO 2936.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HexKey {
    /// Width across flats, mm: the nominal size.
    pub width_mm: f64,
    /// Largest width across corners, mm.
    pub corners_mm: f64,
    /// Length of the short arm, mm.
    pub short_mm: f64,
    /// Length of the long arm of the usual keys, mm.
    pub long_mm: f64,
    /// Length of the long arm of the longest series, mm.
    pub longest_mm: f64,
}

/// Which arm of which key goes into the hole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum KeyArm {
    /// The short arm, turned by the long one.
    Short,
    /// The long arm of a usual key.
    Long,
    /// The long arm of a key of the longest series.
    Longest,
}

impl KeyArm {
    /// All arms, shortest first.
    pub const ALL: [Self; 3] = [Self::Short, Self::Long, Self::Longest];

    /// The arm in the user's words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Short => "short arm",
            Self::Long => "long arm",
            Self::Longest => "long arm of an extra long key",
        }
    }
}

impl HexKey {
    /// How deep an arm reaches from the face on which the key is held, mm: its length less twice the key's
    /// width, which the bend takes up. Assumed: the standard gives the length to the outside of the bend.
    pub const fn reach_mm(&self, arm: KeyArm) -> f64 {
        let length_mm = match arm {
            KeyArm::Short => self.short_mm,
            KeyArm::Long => self.long_mm,
            KeyArm::Longest => self.longest_mm,
        };
        length_mm - 2.0 * self.width_mm
    }
}

/// All keys that fit the screws, thinnest first.
pub const fn hex_keys() -> &'static [HexKey] {
    &KEYS
}

/// The key for a socket of a nominal width, mm; `None` if there is no such key.
pub fn hex_key(width_mm: f64) -> Option<&'static HexKey> {
    KEYS.iter().find(|key| (key.width_mm - width_mm).abs() < 1e-9)
}

static KEYS: [HexKey; 9] = {
    let rows = table::rows::<9, 5>(
        include_str!("../../../../assets/hardware/hex_keys.csv"),
        "width_mm,corners_mm,short_mm,long_mm,longest_mm",
    );
    let mut keys =
        [HexKey { width_mm: 0.0, corners_mm: 0.0, short_mm: 0.0, long_mm: 0.0, longest_mm: 0.0 }; 9];
    let mut row = 0;
    while row < 9 {
        let [width_mm, corners_mm, short_mm, long_mm, longest_mm] = rows[row];
        keys[row] = HexKey { width_mm, corners_mm, short_mm, long_mm, longest_mm };
        row += 1;
    }
    keys
};
