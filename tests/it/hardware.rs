//! Standard screws against published tables.

use keepside_engine::hardware::{self, CapHead, KeyArm, SetScrew, Sold, Stock, Thread};
use keepside_model::{ScrewEnd, ThreadSize};

/// The rows of an oracle table: a thread size and its numbers.
fn rows(table: &str) -> Vec<(ThreadSize, Vec<f64>)> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(table.as_bytes());
    let rows: Vec<_> = reader
        .records()
        .map(|record| {
            let record = record.expect("a row of a CSV table");
            let size = ThreadSize::ALL
                .into_iter()
                .find(|size| size.designation() == &record[0])
                .expect("a thread size");
            (size, record.iter().skip(1).map(|number| number.parse().expect("a number")).collect())
        })
        .collect();
    assert!(!rows.is_empty());
    rows
}

#[track_caller]
fn check(size: ThreadSize, what: &str, got: f64, published: f64, half_last_digit: f64) {
    // The small addition is for the rounding of the comparison itself.
    let is_close = (got - published).abs() <= half_last_digit + 1e-9;
    assert!(is_close, "{}: {what} is {got}, published {published}", size.designation());
}

#[test]
fn threads_have_the_basic_profile_of_iso_68_1() {
    // ISO 68-1 and ISO 724, to the 3 decimals printed.
    let table = rows(include_str!("../oracle/iso_thread_basic.csv"));
    assert_eq!(table.len(), ThreadSize::ALL.len());
    for (size, numbers) in table {
        let thread = hardware::thread(size);
        let half = 0.0005;
        check(size, "nominal diameter", thread.nominal_mm, numbers[0], 0.0);
        check(size, "pitch", thread.pitch_mm, numbers[1], 0.0);
        check(size, "pitch diameter", thread.pitch_diameter_mm, numbers[2], half);
        check(size, "minor diameter", thread.minor_diameter_mm, numbers[3], half);
        check(size, "root diameter", thread.root_diameter_mm, numbers[4], half);
        check(size, "stress area", thread.stress_area_mm2, numbers[5], half);
        let depth_mm = 0.5 * (thread.nominal_mm - thread.root_diameter_mm);
        check(size, "thread depth", thread.thread_depth_mm, depth_mm, 0.0);
        assert_eq!(hardware::nominal_diameter_mm(size), thread.nominal_mm);
    }
}

#[test]
fn stress_areas_are_those_in_use() {
    // Engineering ToolBox d_777, 3 significant digits.
    for (size, area_mm2, half) in [
        (ThreadSize::M4, 8.78, 0.005),
        (ThreadSize::M5, 14.2, 0.05),
        (ThreadSize::M6, 20.1, 0.05),
        (ThreadSize::M8, 36.6, 0.05),
    ] {
        check(size, "stress area", hardware::thread(size).stress_area_mm2, area_mm2, half);
    }
}

#[test]
fn pitch_diameters_agree_with_the_limits_of_iso_965() {
    // Mastik catalogue, page 711 (ISO 965, 6g). The allowance g moves the major and the pitch diameter
    // by the same amount, so the printed maxima must differ as the basic diameters do. Three numbers
    // rounded to 0.001 mm.
    for (size, limits) in rows(include_str!("../oracle/iso965_6g_external_limits.csv")) {
        let thread = hardware::thread(size);
        let basic_mm = thread.nominal_mm - thread.pitch_diameter_mm;
        check(size, "d - d2", basic_mm, limits[0] - limits[2], 0.0015);
    }
}

#[test]
fn clearance_holes_are_those_of_iso_273() {
    for (size, numbers) in rows(include_str!("../oracle/iso273_clearance_holes.csv")) {
        let Thread { clearance_fine_mm, clearance_medium_mm, clearance_coarse_mm, .. } =
            *hardware::thread(size);
        assert_eq!([clearance_fine_mm, clearance_medium_mm, clearance_coarse_mm], numbers[..]);
    }
    // Engineering ToolBox d_777, medium series.
    assert_eq!(hardware::thread(ThreadSize::M6).clearance_medium_mm, 6.6);
}

#[test]
fn tap_drills_are_the_usual_ones() {
    // ISO 2306 as sold; the pitch below the nominal diameter to the next 0.05 mm.
    for (size, numbers) in rows(include_str!("../oracle/tap_drills_coarse.csv")) {
        let thread = hardware::thread(size);
        assert_eq!(thread.tap_drill_mm, numbers[0], "{}", size.designation());
        check(size, "tap drill by rule", thread.tap_drill_mm, thread.nominal_mm - thread.pitch_mm, 0.05);
        assert!(thread.tap_drill_mm > thread.minor_diameter_mm, "{}", size.designation());
    }
}

#[test]
fn cap_heads_are_those_of_iso_4762() {
    for (size, numbers) in rows(include_str!("../oracle/iso4762_cap_screws.csv")) {
        let CapHead {
            head_diameter_mm,
            head_diameter_knurled_mm,
            head_height_mm,
            socket_mm,
            socket_depth_mm,
            bearing_diameter_mm,
            floor_mm,
            thread_length_mm,
        } = *hardware::cap_head(size);
        let got = [
            head_diameter_mm,
            head_diameter_knurled_mm,
            head_height_mm,
            socket_mm,
            socket_depth_mm,
            bearing_diameter_mm,
            floor_mm,
        ];
        let published = [&numbers[..5], &numbers[6..]].concat();
        assert_eq!(got[..], published[..], "{}", size.designation());
        assert_eq!(hardware::cap_head_diameter_mm(size), head_diameter_mm);
        // ISO 4762: the head is as high as the screw is thick, and the socket leaves metal under it.
        assert_eq!(head_height_mm, hardware::nominal_diameter_mm(size));
        assert!(socket_depth_mm + floor_mm <= head_height_mm, "{}", size.designation());
        // ISO 4762, reference value of b as printed at boltport.com: 2 d + 12 mm.
        assert_eq!(thread_length_mm, 2.0 * hardware::nominal_diameter_mm(size) + 12.0);
        // The least width across the socket's corners, 1.14 times the least socket width, which is a
        // little above the nominal one: between the nominal width's and 2 % more.
        let corners = numbers[5] / (1.14 * socket_mm);
        assert!((1.0..1.02).contains(&corners), "{}: {corners}", size.designation());
    }
}

#[test]
fn set_screws_are_those_of_iso_4026_to_4029() {
    for (size, numbers) in rows(include_str!("../oracle/iso4026_4029_set_screws.csv")) {
        let SetScrew {
            socket_mm,
            socket_depth_short_mm,
            socket_depth_long_mm,
            flat_point_mm,
            dog_point_mm,
            cup_point_mm,
            dog_short_mm,
            dog_long_mm,
            cone_point_mm,
            long_from_mm,
        } = *hardware::set_screw(size);
        let got = [socket_mm, socket_depth_short_mm, socket_depth_long_mm, flat_point_mm, dog_point_mm];
        assert_eq!(got[..], numbers[..5], "{}", size.designation());
        assert_eq!(cup_point_mm, numbers[6], "{}", size.designation());
        // Least lengths, which are the nominal ones; the long dog is twice as long.
        assert_eq!([dog_short_mm, dog_long_mm], [numbers[8], numbers[10]], "{}", size.designation());
        // The uncertain ones are only held to what cannot be otherwise.
        assert!(cone_point_mm.likeliest_mm() < flat_point_mm, "{}", size.designation());
        assert!(long_from_mm.likeliest_mm() > socket_depth_long_mm, "{}", size.designation());
        check(size, "long dog point", dog_long_mm, 2.0 * dog_short_mm, 0.011);
        assert!(cup_point_mm < hardware::thread(size).minor_diameter_mm, "{}", size.designation());
    }
}

/// The lines of an oracle table that are not remarks, cut into cells.
fn lines(table: &str) -> Vec<Vec<&str>> {
    let lines = table.lines().filter(|line| !line.starts_with('#') && !line.starts_with("series")).skip(1);
    lines.map(|line| line.split(',').collect()).collect()
}

fn numbers(cells: &[&str]) -> Vec<f64> {
    cells.iter().map(|cell| cell.parse().expect("a number")).collect()
}

const BD_WAREHOUSE: &str = include_str!("../oracle/hardware/bd_warehouse.csv");
const FASTENERS_WB: &str = include_str!("../oracle/hardware/fasteners_wb.csv");
const FLAT: Stock = Stock::SetScrew(ScrewEnd::Flat);
const DOG: Stock = Stock::SetScrew(ScrewEnd::Dog);

#[test]
fn an_independent_part_library_has_the_same_screws_and_holes() {
    let table = rows(
        &BD_WAREHOUSE
            .lines()
            .filter(|line| !line.starts_with("series"))
            .fold(String::new(), |text, line| text + line + "\n"),
    );
    assert_eq!(table.len(), ThreadSize::ALL.len());
    for (size, numbers) in table {
        let (thread, head, set) =
            (hardware::thread(size), hardware::cap_head(size), hardware::set_screw(size));
        let got = [
            thread.tap_drill_mm,
            thread.clearance_fine_mm,
            thread.clearance_medium_mm,
            thread.clearance_coarse_mm,
            head.head_diameter_knurled_mm,
            head.head_height_mm,
            head.socket_mm,
            head.socket_depth_mm,
        ];
        assert_eq!(got[..], numbers[..8], "{}", size.designation());
        assert_eq!([set.socket_mm, set.socket_depth_long_mm], [numbers[10], numbers[11]]);
    }
}

/// The shortest and the longest length of a size that is sold, or that may be.
fn range(stock: Stock, size: ThreadSize, least: Sold) -> [f64; 2] {
    let mut lengths =
        hardware::lengths(stock, size).filter(|(_, sold)| *sold <= least).map(|(length, _)| length);
    let shortest = lengths.next().expect("a length");
    [shortest, lengths.next_back().expect("a second length")]
}

/// A length that all sources give is sold; one that a source adds is uncertain, never passed over.
#[test]
fn lengths_are_sold_where_the_sources_agree_and_uncertain_where_they_do_not() {
    let wb = rows(FASTENERS_WB);
    let bd = lines(BD_WAREHOUSE);
    assert_eq!(wb.len(), ThreadSize::ALL.len());
    for ((size, wb), bd) in wb.iter().zip(&bd) {
        let bd = numbers(&bd[1..]);
        for (stock, published) in [
            (FLAT, [wb[0], wb[1]]),
            (FLAT, [bd[12], bd[13]]),
            (DOG, [wb[2], wb[3]]),
            (Stock::CapScrew, [wb[4], wb[5]]),
            (Stock::CapScrew, [bd[8], bd[9]]),
        ] {
            let (sure, widest) = (range(stock, *size, Sold::Yes), range(stock, *size, Sold::Uncertain));
            let name = format!("{stock:?} {}: {sure:?}, {widest:?}", size.designation());
            assert!(widest[0] <= published[0] && published[1] <= widest[1], "{name}");
            assert!(published[0] <= sure[0] && sure[1] <= published[1], "{name}");
        }
        assert_eq!(
            [wb[6], wb[7]],
            [hardware::set_screw(*size).dog_short_mm, hardware::set_screw(*size).dog_long_mm]
        );
        let set = hardware::set_screw(*size);
        assert_eq!([wb[8], wb[9]], [set.socket_depth_short_mm, set.socket_depth_long_mm]);
    }
    // DIN EN ISO 4026, commercial lengths at fastenit: M2 from 2, M2.5 from 2.5, M3 from 3, M4 from 4 mm.
    assert_eq!(hardware::sold(FLAT, ThreadSize::M2, 2.0), Sold::Uncertain);
    assert_eq!(hardware::sold(FLAT, ThreadSize::M2_5, 2.5), Sold::Uncertain);
    assert_eq!(hardware::sold(FLAT, ThreadSize::M3, 3.0), Sold::Yes);
    assert_eq!(hardware::sold(FLAT, ThreadSize::M4, 4.0), Sold::Yes);
    assert_eq!(hardware::sold(FLAT, ThreadSize::M4, 7.0), Sold::No);
    assert_eq!(hardware::sold(FLAT, ThreadSize::M4, 14.0), Sold::Uncertain);
    assert_eq!(hardware::sold(Stock::CapScrew, ThreadSize::M6, 8.0), Sold::Uncertain);
    // Cone and cup points are only remembered.
    for size in ThreadSize::ALL {
        for end in [ScrewEnd::Cone, ScrewEnd::Cup] {
            let mut lengths = hardware::lengths(Stock::SetScrew(end), size);
            assert!(lengths.all(|(_, sold)| sold == Sold::Uncertain), "{end:?} {}", size.designation());
        }
    }
}

/// Every length in the series of the independent library is known, as sure or as uncertain.
#[test]
fn the_series_of_lengths_holds_what_an_independent_library_lists() {
    for (screw, stock) in [("iso4762", Stock::CapScrew), ("iso4026", FLAT)] {
        let start = format!("series {screw} ");
        let series = BD_WAREHOUSE.lines().find_map(|line| line.strip_prefix(&start)).expect("the series");
        for length in series.split(' ').map(|length| length.parse::<f64>().expect("a number")) {
            // M8 has the longest screws, M2 the shortest.
            let known = [ThreadSize::M2, ThreadSize::M4, ThreadSize::M8]
                .map(|size| hardware::sold(stock, size, length))
                .into_iter()
                .min();
            let in_range = (3.0..=if stock == FLAT { 40.0 } else { 80.0 }).contains(&length);
            assert!(!in_range || known < Some(Sold::No), "{screw}: {length}");
        }
    }
}

#[test]
fn keys_are_those_of_iso_2936() {
    let table = lines(include_str!("../oracle/hardware/hex_keys.csv"));
    assert_eq!(table.len(), hardware::hex_keys().len());
    for row in table {
        let row = numbers(&row);
        let key = hardware::hex_key(row[0]).expect("a key of this width");
        let usual = [key.corners_mm, key.long_mm, key.short_mm];
        assert_eq!(usual, [row[1], row[2], row[5]], "JIS B 4648, {}", row[0]);
        assert_eq!([key.long_mm, key.short_mm], [row[6], row[9]], "FreeCAD_FastenersWB, {}", row[0]);
        let longest = if row[4] > 0.0 { row[4] } else { row[2] };
        assert_eq!(key.longest_mm, longest);
        assert!(row[8] == row[4], "both sources agree on the longest series");
        if row[11] > 0.0 {
            assert_eq!(usual, row[10..], "wrenchroom, {}", row[0]);
        }
        // A hexagon's corners are 2/√3 of its width apart; they are a little rounded.
        assert!((1.09..=2.0 / 3.0_f64.sqrt()).contains(&(key.corners_mm / key.width_mm)));
        assert!(KeyArm::ALL.windows(2).all(|pair| key.reach_mm(pair[0]) <= key.reach_mm(pair[1])));
    }
    // Every screw has its key, and the key goes through the thread that the screw sits in.
    for size in ThreadSize::ALL {
        let thread = hardware::thread(size);
        let key = hardware::hex_key(hardware::set_screw(size).socket_mm).expect("a key for the set screw");
        assert!(key.corners_mm < thread.minor_diameter_mm, "{}", size.designation());
        assert!(hardware::hex_key(hardware::cap_head(size).socket_mm).is_some(), "{}", size.designation());
    }
}
