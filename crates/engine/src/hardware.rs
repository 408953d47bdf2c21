//! Standard screws: threads, heads, sockets, drills.
//!
//! The tables are small CSV files under `assets/hardware`, each with its source and licence, compiled in.
//! Where the sources of a value disagree, the file says so and the value is [`Uncertain`] or
//! [`Sold::Uncertain`] here.

mod key;
mod length;
mod table;

use keepside_model::ThreadSize;

pub use key::{HexKey, KeyArm, hex_key, hex_keys};
pub use length::{Sold, Stock, lengths, sold};

/// A length on which the published tables disagree or that is only remembered. Whoever uses it says so to
/// the user.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uncertain(f64);

impl Uncertain {
    /// The likeliest value, mm.
    pub const fn likeliest_mm(self) -> f64 {
        self.0
    }
}

/// An ISO metric coarse thread, basic profile, and the holes that go with it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thread {
    /// Nominal (major) diameter d, mm.
    pub nominal_mm: f64,
    /// Pitch P, mm.
    pub pitch_mm: f64,
    /// Pitch diameter d₂ = d − 0.75 H, mm, with H = √3/2 · P the height of the sharp triangle.
    pub pitch_diameter_mm: f64,
    /// Minor diameter of the nut D₁ = d − 1.25 H, mm.
    pub minor_diameter_mm: f64,
    /// Root diameter of the screw d₃ = d − 17/12 H, mm.
    pub root_diameter_mm: f64,
    /// Radial depth of the screw's thread (d − d₃)/2 = 17/24 H, mm.
    pub thread_depth_mm: f64,
    /// Tensile stress area π/4 · ((d₂ + d₃)/2)², mm².
    pub stress_area_mm2: f64,
    /// Drill before tapping, mm.
    pub tap_drill_mm: f64,
    /// Clearance hole, fine series, mm.
    pub clearance_fine_mm: f64,
    /// Clearance hole, medium series, mm.
    pub clearance_medium_mm: f64,
    /// Clearance hole, coarse series, mm.
    pub clearance_coarse_mm: f64,
}

/// The head of a hexagon socket head cap screw, ISO 4762.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CapHead {
    /// Largest diameter of a plain head, mm; it is also the nominal one.
    pub head_diameter_mm: f64,
    /// Largest diameter of a knurled head, mm.
    pub head_diameter_knurled_mm: f64,
    /// Largest height of the head, mm.
    pub head_height_mm: f64,
    /// Width of the hexagon socket, mm.
    pub socket_mm: f64,
    /// Least depth of the socket, mm.
    pub socket_depth_mm: f64,
    /// Least diameter of the flat underside, mm.
    pub bearing_diameter_mm: f64,
    /// Least metal between the socket and the underside, mm.
    pub floor_mm: f64,
    /// Length of thread of a screw too long to be threaded up to its head, mm.
    pub thread_length_mm: f64,
}

/// A hexagon socket set screw, ISO 4026 (flat), 4028 (dog) and 4029 (cup point).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SetScrew {
    /// Width of the hexagon socket, mm.
    pub socket_mm: f64,
    /// Least depth of the socket of short screws, mm.
    pub socket_depth_short_mm: f64,
    /// Least depth of the socket of all longer screws, mm.
    pub socket_depth_long_mm: f64,
    /// Largest diameter of a flat point, mm.
    pub flat_point_mm: f64,
    /// Largest diameter of a dog point, mm.
    pub dog_point_mm: f64,
    /// Largest diameter of a cup point, mm.
    pub cup_point_mm: f64,
    /// Least length of a short dog point, mm: what screws of the usual short lengths have.
    pub dog_short_mm: f64,
    /// Least length of a long dog point, mm.
    pub dog_long_mm: f64,
    /// Largest diameter of the flat on the tip of a cone point, mm.
    pub cone_point_mm: Uncertain,
    /// Shortest screw that has the long socket, mm.
    pub long_from_mm: Uncertain,
}

/// The thread of a size.
pub const fn thread(size: ThreadSize) -> &'static Thread {
    &THREADS[size as usize]
}

/// The cap screw head of a size.
pub const fn cap_head(size: ThreadSize) -> &'static CapHead {
    &CAP_HEADS[size as usize]
}

/// The set screw of a size.
pub const fn set_screw(size: ThreadSize) -> &'static SetScrew {
    &SET_SCREWS[size as usize]
}

/// Nominal diameter of a thread size, mm.
pub const fn nominal_diameter_mm(size: ThreadSize) -> f64 {
    thread(size).nominal_mm
}

/// Diameter of the plain cap screw head of a size, mm. A knurled head may be up to 0.27 mm larger.
pub const fn cap_head_diameter_mm(size: ThreadSize) -> f64 {
    cap_head(size).head_diameter_mm
}

static THREADS: [Thread; table::ROWS] = {
    let rows = table::read::<6>(
        include_str!("../../../assets/hardware/threads.csv"),
        "size,nominal_mm,pitch_mm,tap_drill_mm,clearance_fine_mm,clearance_medium_mm,clearance_coarse_mm",
    );
    let mut threads = [Thread::of([1.0; 6]); table::ROWS];
    let mut row = 0;
    while row < table::ROWS {
        threads[row] = Thread::of(rows[row]);
        row += 1;
    }
    threads
};

static CAP_HEADS: [CapHead; table::ROWS] = {
    let rows = table::read::<8>(
        include_str!("../../../assets/hardware/cap_heads.csv"),
        "size,head_diameter_mm,head_diameter_knurled_mm,head_height_mm,socket_mm,socket_depth_mm,\
         bearing_diameter_mm,floor_mm,thread_length_mm",
    );
    let mut heads = [CapHead::of([1.0; 8]); table::ROWS];
    let mut row = 0;
    while row < table::ROWS {
        heads[row] = CapHead::of(rows[row]);
        row += 1;
    }
    heads
};

static SET_SCREWS: [SetScrew; table::ROWS] = {
    let rows = table::read::<10>(
        include_str!("../../../assets/hardware/set_screws.csv"),
        "size,socket_mm,socket_depth_short_mm,socket_depth_long_mm,flat_point_mm,dog_point_mm,cup_point_mm,\
         dog_short_mm,dog_long_mm,cone_point_mm?,long_from_mm?",
    );
    let mut screws = [SetScrew::of([1.0; 10]); table::ROWS];
    let mut row = 0;
    while row < table::ROWS {
        screws[row] = SetScrew::of(rows[row]);
        row += 1;
    }
    screws
};

impl Thread {
    /// From a row of the table; the diameters follow from the basic profile of ISO 68-1 as in ISO 724,
    /// d₃ and the stress area from ISO 898-1. The formulas were read in secondary sources.
    const fn of(row: [f64; 6]) -> Self {
        let [nominal_mm, pitch_mm, tap_drill_mm, clearance_fine_mm, clearance_medium_mm, clearance_coarse_mm] =
            row;
        // √3/2, which cannot be computed by sqrt() in a constant.
        let height_mm = 0.866_025_403_784_438_6 * pitch_mm;
        let pitch_diameter_mm = nominal_mm - 0.75 * height_mm;
        let root_diameter_mm = nominal_mm - 17.0 / 12.0 * height_mm;
        let mean_mm = 0.5 * (pitch_diameter_mm + root_diameter_mm);
        Self {
            nominal_mm,
            pitch_mm,
            pitch_diameter_mm,
            minor_diameter_mm: nominal_mm - 1.25 * height_mm,
            root_diameter_mm,
            thread_depth_mm: 17.0 / 24.0 * height_mm,
            stress_area_mm2: std::f64::consts::FRAC_PI_4 * mean_mm * mean_mm,
            tap_drill_mm,
            clearance_fine_mm,
            clearance_medium_mm,
            clearance_coarse_mm,
        }
    }
}

impl CapHead {
    const fn of(row: [f64; 8]) -> Self {
        Self {
            head_diameter_mm: row[0],
            head_diameter_knurled_mm: row[1],
            head_height_mm: row[2],
            socket_mm: row[3],
            socket_depth_mm: row[4],
            bearing_diameter_mm: row[5],
            floor_mm: row[6],
            thread_length_mm: row[7],
        }
    }
}

impl SetScrew {
    const fn of(row: [f64; 10]) -> Self {
        Self {
            socket_mm: row[0],
            socket_depth_short_mm: row[1],
            socket_depth_long_mm: row[2],
            flat_point_mm: row[3],
            dog_point_mm: row[4],
            cup_point_mm: row[5],
            dog_short_mm: row[6],
            dog_long_mm: row[7],
            cone_point_mm: Uncertain(row[8]),
            long_from_mm: Uncertain(row[9]),
        }
    }
}
