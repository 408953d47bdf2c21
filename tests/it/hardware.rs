//! Standard screws against published tables.

use keepside_engine::hardware::{self, CapHead, SetScrew, Thread};
use keepside_model::ThreadSize;

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
        } = *hardware::set_screw(size);
        let got = [socket_mm, socket_depth_short_mm, socket_depth_long_mm, flat_point_mm, dog_point_mm];
        assert_eq!(got[..], numbers[..5], "{}", size.designation());
        assert_eq!(cup_point_mm, numbers[6], "{}", size.designation());
        // Least lengths, which are the nominal ones; the long dog is twice as long.
        assert_eq!([dog_short_mm, dog_long_mm], [numbers[8], numbers[10]], "{}", size.designation());
        check(size, "long dog point", dog_long_mm, 2.0 * dog_short_mm, 0.011);
        assert!(cup_point_mm < hardware::thread(size).minor_diameter_mm, "{}", size.designation());
    }
}
