//! Small drawings, each with what it must come to; larger ones, by other programs, are under `tests`.

use std::f64::consts::PI;

use glam::DVec2;
use keepside_model::EndShape;

use super::*;

/// A DXF file of entities, in a unit of `$INSUNITS`, with blocks.
fn drawing(unit: u32, blocks: &str, entities: &str) -> String {
    let lines = |text: &str| text.split_whitespace().map(|word| format!("{word}\n")).collect::<String>();
    lines(&format!(
        "0 SECTION 2 HEADER 9 $INSUNITS 70 {unit} 0 ENDSEC 0 SECTION 2 BLOCKS {blocks} 0 ENDSEC \
         0 SECTION 2 ENTITIES {entities} 0 ENDSEC 0 EOF"
    ))
}

#[track_caller]
fn from_dxf(unit: u32, entities: &str) -> Imported {
    dxf(drawing(unit, "", entities).as_bytes()).unwrap()
}

#[track_caller]
fn from_svg(attributes: &str, body: &str) -> Imported {
    let text = format!("<svg xmlns=\"http://www.w3.org/2000/svg\" {attributes}>{body}</svg>");
    svg(text.as_bytes()).unwrap()
}

/// That a chain goes through places, in either direction.
#[track_caller]
fn goes(chain: &Chain, places: &[(f64, f64)]) {
    let mut points: Vec<DVec2> = chain.points.iter().map(|point| point.at).collect();
    let places: Vec<DVec2> = places.iter().map(|place| DVec2::from(*place)).collect();
    let alike = |points: &[DVec2]| {
        points.len() == places.len() && points.iter().zip(&places).all(|(a, b)| a.distance(*b) < 1e-9)
    };
    if alike(&points) {
        return;
    }
    points.reverse();
    assert!(alike(&points), "{:?} is not {places:?}", chain.points);
}

#[test]
fn lines_and_arcs_of_a_dxf_are_joined_end_to_end() {
    let read = from_dxf(
        4,
        "0 LINE 8 A 10 0 20 0 11 10 21 0 0 ARC 8 A 10 10 20 5 40 5 50 270 51 90 0 LINE 8 A 11 10 21 10 10 0 20 10",
    );
    let [chain] = &read.chains[..] else { panic!("{read:?}") };
    assert!(!chain.closed && chain.layer == "A");
    goes(chain, &[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]);
    assert!((chain.points[1].bulge - 1.0).abs() < 1e-12);
    assert!((chain.length_mm() - 20.0 - 5.0 * PI).abs() < 1e-9);
    assert!(read.skipped.is_empty() && read.remarks.is_empty());
}

#[test]
fn inches_become_millimetres_and_no_unit_is_told() {
    let line = "0 LINE 8 A 10 0 20 0 11 2 21 0";
    goes(&from_dxf(1, line).chains[0], &[(0.0, 0.0), (50.8, 0.0)]);
    let unitless = from_dxf(0, line);
    goes(&unitless.chains[0], &[(0.0, 0.0), (2.0, 0.0)]);
    assert!(unitless.remarks[0].contains("unit"));
    assert_eq!(dxf(drawing(3, "", line).as_bytes()), Err(ImportError::DxfUnit { code: 3 }));
}

#[test]
fn polylines_old_and_new_keep_their_bulges() {
    let light = from_dxf(4, "0 LWPOLYLINE 8 A 90 2 70 1 10 0 20 0 42 1 10 6 20 0 42 1");
    let old = from_dxf(
        4,
        "0 POLYLINE 8 A 66 1 70 1 0 VERTEX 8 A 10 0 20 0 42 1 0 VERTEX 8 A 10 6 20 0 42 1 0 SEQEND",
    );
    for read in [light, old] {
        let [chain] = &read.chains[..] else { panic!("{read:?}") };
        assert!(chain.closed && (chain.length_mm() - 6.0 * PI).abs() < 1e-9);
    }
}

#[test]
fn blocks_are_placed_turned_scaled_mirrored_and_repeated() {
    let block = "0 BLOCK 2 B 10 1 20 0 0 LINE 8 0 10 1 20 0 11 4 21 0 0 ENDBLK";
    let insert = |rest: &str| {
        let entities = format!("0 INSERT 8 L 2 B {rest}");
        dxf(drawing(4, block, &entities).as_bytes()).unwrap()
    };
    let turned = insert("10 10 20 20 41 2 42 2 50 90");
    assert_eq!(turned.chains[0].layer, "L");
    goes(&turned.chains[0], &[(10.0, 20.0), (10.0, 26.0)]);
    goes(&insert("10 10 20 20 41 -1").chains[0], &[(10.0, 20.0), (7.0, 20.0)]);
    goes(&insert("10 10 20 20 230 -1").chains[0], &[(-10.0, 20.0), (-13.0, 20.0)]);
    let many = insert("10 0 20 0 70 2 71 3 44 5 45 7");
    assert_eq!(many.chains.len(), 6);
    goes(&many.chains[5], &[(5.0, 14.0), (8.0, 14.0)]);
}

#[test]
fn an_arc_in_a_block_scaled_unevenly_is_an_ellipse_within_the_tolerance() {
    let block = "0 BLOCK 2 B 0 CIRCLE 8 0 10 0 20 0 40 5 0 ENDBLK";
    let read = dxf(drawing(4, block, "0 INSERT 8 L 2 B 41 2").as_bytes()).unwrap();
    let [chain] = &read.chains[..] else { panic!("{read:?}") };
    assert!(chain.closed);
    for (from, bulge, to) in chain.pieces() {
        let middle = curve::middle(from, bulge, to);
        // Off the ellipse of half axes 10 and 5, to first order.
        let (x, y) = (middle.x / 10.0, middle.y / 5.0);
        let off = ((x * x + y * y).sqrt() - 1.0) * 10.0;
        assert!(off.abs() < CURVE_TOLERANCE_MM, "{off}");
    }
}

#[test]
fn blocks_within_themselves_and_bombs_of_blocks_are_refused() {
    let within = "0 BLOCK 2 B 0 INSERT 2 B 0 ENDBLK";
    let read = dxf(drawing(4, within, "0 INSERT 2 B").as_bytes());
    assert!(matches!(read, Err(ImportError::TooDeep { .. })), "{read:?}");
    let bomb: String = (0..12)
        .map(|level| {
            format!("0 BLOCK 2 B{level} {}0 ENDBLK ", format!("0 INSERT 2 B{} ", level + 1).repeat(10))
        })
        .collect();
    let read = dxf(drawing(4, &bomb, "0 INSERT 2 B0").as_bytes());
    assert_eq!(read, Err(ImportError::TooManyEntities));
    let rows = dxf(drawing(4, "0 BLOCK 2 B 0 ENDBLK", "0 INSERT 2 B 70 32000 71 32000").as_bytes());
    assert_eq!(rows, Err(ImportError::TooManyEntities));
}

#[test]
fn what_has_no_use_is_counted_with_the_reason() {
    let read = from_dxf(
        4,
        "0 LINE 8 A 10 0 20 0 11 9 21 0 0 TEXT 1 hello 0 TEXT 1 hello 0 HATCH 2 SOLID 0 LINE 10 0 20 0 11 9 31 5",
    );
    let told: Vec<String> = read.skipped.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "1 × hatch (an area, not a line)",
            "1 × line (not flat in x and y)",
            "2 × text (has no line to follow)"
        ]
    );
    let nothing = dxf(drawing(4, "", "0 TEXT 1 hello").as_bytes()).unwrap_err();
    assert!(nothing.to_string().contains("1 × text"), "{nothing}");
}

#[test]
fn broken_dxf_files_say_where() {
    let good = drawing(4, "", "0 LINE 8 A 10 0 20 0 11 9 21 0");
    assert_eq!(dxf(b"AutoCAD Binary DXF\r\n\x1a\0rest"), Err(ImportError::BinaryDxf));
    assert!(matches!(dxf(b""), Err(ImportError::NotDxf { line: 1, .. })));
    assert!(matches!(dxf(b"<svg/>"), Err(ImportError::NotDxf { line: 1, .. })));
    let cut = &good[..good.len() - 20];
    assert!(matches!(dxf(cut.as_bytes()), Err(ImportError::DxfCutOff { .. })), "{:?}", dxf(cut.as_bytes()));
    let wrong = good.replace("\n11\n9\n", "\n11\nnine\n");
    assert_eq!(dxf(wrong.as_bytes()), Err(ImportError::DxfNumber { line: 30, found: "nine".to_owned() }));
    let far = good.replace("\n11\n9\n", "\n11\n1e300\n");
    assert_eq!(dxf(far.as_bytes()), Err(ImportError::TooFar));
    assert_eq!(dxf(&vec![b'0'; MAX_BYTES + 1]), Err(ImportError::TooBig { bytes: MAX_BYTES + 1 }));
    // Windows line ends and spaces before codes are as good.
    let windows = good.replace('\n', "\r\n").replace("11\r\n", "  11\r\n");
    assert_eq!(dxf(windows.as_bytes()), dxf(good.as_bytes()));
}

#[test]
fn sizes_of_an_svg_in_every_unit_are_millimetres() {
    let line = "<line x2=\"10\"/>";
    for (attributes, length_mm) in [
        ("width=\"100mm\" height=\"50mm\" viewBox=\"0 0 100 50\"", 10.0),
        ("width=\"10cm\" height=\"5cm\" viewBox=\"0 0 100 50\"", 10.0),
        ("width=\"4in\" height=\"2in\" viewBox=\"0 0 100 50\"", 10.16),
        ("width=\"288pt\" height=\"144pt\" viewBox=\"0 0 100 50\"", 10.16),
        ("width=\"384\" height=\"192px\" viewBox=\"0 0 100 50\"", 10.16),
        ("width=\"100\" height=\"100\"", 10.0 * 25.4 / 96.0),
        ("viewBox=\"0 0 7 7\"", 10.0 * 25.4 / 96.0),
        // The larger side has room to spare.
        ("width=\"100mm\" height=\"500mm\" viewBox=\"0 0 100 50\"", 10.0),
    ] {
        let read = from_svg(attributes, line);
        assert!((read.chains[0].length_mm() - length_mm).abs() < 1e-9, "{attributes}: {read:?}");
    }
}

#[test]
fn y_of_an_svg_is_turned_up_from_the_lower_edge() {
    let mm = "width=\"100mm\" height=\"50mm\" viewBox=\"0 0 100 50\"";
    let read = from_svg(mm, "<g id=\"CHANNEL\"><path d=\"M10 40 h20 v-10\"/></g>");
    assert_eq!(read.chains[0].layer, "CHANNEL");
    goes(&read.chains[0], &[(10.0, 10.0), (30.0, 10.0), (30.0, 20.0)]);
}

/// In mm, the lower left corner at the origin.
const MM: &str = "width=\"100mm\" height=\"100mm\" viewBox=\"0 -100 100 100\"";

#[test]
fn groups_transforms_and_use_add_up() {
    let read = from_svg(
        MM,
        "<defs><path id=\"p\" d=\"M0 0h4\"/></defs>\
         <g transform=\"translate(10 -20) rotate(-90)\"><use href=\"#p\" x=\"1\" transform=\"scale(2)\"/></g>",
    );
    // From (1, 0) to (5, 0), doubled, turned upwards, moved.
    goes(&read.chains[0], &[(10.0, 22.0), (10.0, 30.0)]);
}

#[test]
fn all_commands_of_a_path_draw() {
    let read =
        from_svg(MM, "<path d=\"M0,0 L10,0 l0-10 H0 V-20 h10 v-5 a5 5 0 0 1 10 0 A5 5 0 0 0 30 -25 z\"/>");
    let [chain] = &read.chains[..] else { panic!("{read:?}") };
    assert!(chain.closed);
    let length_mm = 10.0 + 10.0 + 10.0 + 10.0 + 10.0 + 5.0 + 10.0 * PI + 30.0_f64.hypot(25.0);
    assert!((chain.length_mm() - length_mm).abs() < 1e-9);
    // A half circle of cubics, as drawing programs make it, then its reflection by S and T.
    let k = 0.552_284_75 * 5.0;
    let cubic = format!("M0 0 C0 {a} {b} -5 5 -5 S10 {a} 10 0 Q 15 10 20 0 T 30 0", a = -k, b = 5.0 - k);
    let read = from_svg(MM, &format!("<path d=\"{cubic}\"/>"));
    let half_mm: f64 = read.chains[0]
        .pieces()
        .filter(|(from, _, _)| from.x < 9.9)
        .map(|(from, bulge, to)| from.distance(to) * 2.0 * bulge.atan() / (4.0 * bulge.atan() / 2.0).sin())
        .sum();
    assert!((half_mm - 5.0 * PI).abs() < 0.01, "{half_mm}");
    let end = read.chains[0].points.last().unwrap().at.max(read.chains[0].points[0].at);
    assert!((end.x - 30.0).abs() < 1e-9);
}

#[test]
fn basic_shapes_have_their_lengths() {
    for (shape, length_mm) in [
        ("<rect width=\"10\" height=\"4\"/>", 28.0),
        ("<rect width=\"10\" height=\"4\" rx=\"1\"/>", 20.0 + 2.0 * PI),
        ("<rect width=\"10\" height=\"4\" rx=\"9\"/>", 0.0),
        ("<circle r=\"3\"/>", 6.0 * PI),
        ("<ellipse rx=\"3\" ry=\"3\"/>", 6.0 * PI),
        ("<polygon points=\"0,0 3,0 3,4\"/>", 12.0),
        ("<polyline points=\"0,0 3,0 3,4\"/>", 7.0),
        ("<circle r=\"10%\"/>", 20.0 * PI),
    ] {
        let read = from_svg(MM, shape);
        let [chain] = &read.chains[..] else { panic!("{read:?}") };
        // The third rectangle is an ellipse at each end: its length has no closed form.
        assert!(length_mm == 0.0 || (chain.length_mm() - length_mm).abs() < 1e-9, "{shape}: {chain:?}");
        assert_eq!(chain.closed, !shape.contains("polyline"), "{shape}");
    }
}

#[test]
fn broken_and_hostile_svg_files_end_in_an_error() {
    let wrap = |body: &str| svg(format!("<svg xmlns=\"http://www.w3.org/2000/svg\">{body}</svg>").as_bytes());
    assert!(matches!(svg(b"<svg"), Err(ImportError::NotSvg { .. })));
    assert!(matches!(svg(b"<html/>"), Err(ImportError::NotSvg { .. })));
    assert!(matches!(svg(b"\xff\xfe<svg/>"), Err(ImportError::NotSvg { .. })));
    let round = wrap("<g id=\"a\"><use href=\"#a\"/></g>");
    assert!(matches!(round, Err(ImportError::TooDeep { .. })), "{round:?}");
    let deep = format!("{}{}", "<g>".repeat(100_000), "</g>".repeat(100_000));
    assert!(matches!(wrap(&deep), Err(ImportError::TooDeep { .. })));
    let bomb: String = (0..9)
        .map(|level| {
            format!("<g id=\"g{level}\">{}</g>", format!("<use href=\"#g{}\"/>", level + 1).repeat(10))
        })
        .collect();
    assert_eq!(wrap(&format!("<defs>{bomb}</defs><use href=\"#g0\"/>")), Err(ImportError::TooManyEntities));
    assert_eq!(wrap("<line x2=\"1e99\"/>"), Err(ImportError::TooFar));
    assert_eq!(
        wrap(&format!("<path d=\"M0 0{}\"/>", "h1v1".repeat(200_000))),
        Err(ImportError::TooManyPieces)
    );
    let hidden = wrap("<g style=\"display : none\"><circle r=\"4\"/></g><text>a</text>").unwrap_err();
    assert!(hidden.to_string().contains("1 × g (hidden), 1 × text"), "{hidden}");
}

/// The one run that outlines come to.
#[track_caller]
fn strip(read: &Imported) -> keepside_model::Run {
    let choice = Choice { read_as: ReadAs::Outlines, depth_mm: 2.5, ..Choice::default() };
    let made = read.runs(&choice).unwrap();
    let [run] = &made.runs[..] else { panic!("{made:?}") };
    assert!(made.refused.is_empty() && run.points.iter().all(|point| point.depth_mm == 2.5));
    run.clone()
}

#[test]
fn strips_give_back_centre_line_and_width() {
    let slot = strip(&from_svg(MM, "<rect x=\"10\" y=\"-30\" width=\"60\" height=\"6\" rx=\"3\"/>"));
    assert_eq!((slot.start, slot.end), (EndShape::Round, EndShape::Round));
    let [a, b] = &slot.points[..] else { panic!("{slot:?}") };
    assert!((a.at.distance(b.at) - 54.0).abs() < 1e-9 && (a.width_mm - 6.0).abs() < 1e-9);
    let square = strip(&from_svg(MM, "<rect x=\"10\" y=\"-30\" width=\"6\" height=\"60\"/>"));
    assert_eq!((square.start, square.end), (EndShape::Square, EndShape::Square));
    assert!((square.points[0].at.distance(square.points[1].at) - 60.0).abs() < 1e-9);
    // A quarter bend of mean radius 20, one end round, one square, with a straight leg.
    let bent = strip(&from_svg(
        MM,
        "<path d=\"M10 -10 H30 A17 17 0 0 0 47 -27 H53 A23 23 0 0 1 30 -4 H10 A3 3 0 0 1 10 -10\"/>",
    ));
    let bulges: Vec<f64> =
        bent.points.iter().map(|point| point.bulge.abs()).filter(|bulge| *bulge > 0.0).collect();
    assert_eq!(bent.points.len(), 3);
    assert!((bulges[0] - (PI / 8.0).tan()).abs() < 1e-9 && bulges.len() == 1);
}

#[test]
fn slots_with_ends_of_cubics_or_short_lines_are_strips_too() {
    let k = 0.552_284_75 * 3.0;
    let cubics = format!(
        "M10 -6 H60 c{k} 0 3 {b} 3 3 s{c} 3 -3 3 H10 c-{k} 0 -3 -{b} -3 -3 s{c2} -3 3 -3 z",
        b = 3.0 - k,
        c = -(3.0 - k),
        c2 = 3.0 - k
    );
    let run = strip(&from_svg(MM, &format!("<path d=\"{cubics}\"/>")));
    assert!((run.points[0].width_mm - 6.0).abs() < 0.01 && run.points.len() == 2, "{run:?}");
    let end = |centre: f64, from: f64| {
        (0..=36).map(move |step| {
            let turn = (from + 5.0 * f64::from(step)).to_radians();
            format!("{:.6},{:.6} ", centre + 3.0 * turn.cos(), -20.0 + 3.0 * turn.sin())
        })
    };
    let points: String = end(60.0, -90.0).chain(end(10.0, 90.0)).collect();
    let run = strip(&from_svg(MM, &format!("<polygon points=\"{points}\"/>")));
    assert!((run.points[0].width_mm - 6.0).abs() < 0.01 && run.points.len() == 2, "{run:?}");
}

#[test]
fn two_circles_within_each_other_are_a_ring() {
    let ring = strip(&from_svg(
        MM,
        "<circle cx=\"40\" cy=\"-40\" r=\"23\"/><circle cx=\"40\" cy=\"-40\" r=\"17\"/>",
    ));
    assert!(
        (ring.points[0].width_mm - 6.0).abs() < 1e-9 && ring.points[0].at == ring.points.last().unwrap().at
    );
    assert!((ring.points[0].at.distance(DVec2::splat(40.0)) - 20.0).abs() < 1e-9);
}

#[test]
fn outlines_that_are_no_strips_say_so_and_what_to_do() {
    let choice = Choice { read_as: ReadAs::Outlines, ..Choice::default() };
    for (shape, words) in [
        // A tee.
        ("<path d=\"M0 0H60V6H33V30H27V6H0z\"/>", "differs by"),
        // A wedge: 6 mm wide at one end, 8 at the other.
        ("<path d=\"M0 -3 L50 -4 V4 L0 3z\"/>", "not a strip"),
        // A bump in one side.
        ("<path d=\"M0 0H20L25 1L30 0H60V6H0z\"/>", "differs by"),
        ("<circle r=\"9\"/>", "not a strip"),
        ("<path d=\"M0 0H60V6H0\"/>", "close the outline"),
    ] {
        let made = from_svg(MM, shape).runs(&choice).unwrap();
        assert!(made.runs.is_empty(), "{shape}");
        let [refused] = &made.refused[..] else { panic!("{made:?}") };
        assert!(
            refused.why.contains(words) && refused.why.contains("centre line"),
            "{shape}: {}",
            refused.why
        );
    }
}

#[test]
fn centre_lines_become_runs_that_meet() {
    let tee = from_dxf(
        4,
        "0 LINE 8 A 10 20 20 50 11 60 21 50 0 LINE 8 A 10 60 20 50 11 100 21 50 0 LINE 8 B 10 60.004 20 50 11 60 21 80",
    );
    let choice = Choice { width_mm: 5.0, depth_mm: 2.0, end: EndShape::Square, ..Choice::default() };
    let made = tee.runs(&choice).unwrap();
    assert!(made.refused.is_empty());
    assert_eq!(made.runs.len(), 2, "two lines in line are one run");
    let only = tee.runs(&Choice { layers: vec!["B".to_owned()], ..choice.clone() }).unwrap();
    assert_eq!(only.runs.len(), 1);
    let moved = Choice { scale: 2.0, move_mm: DVec2::new(1.0, 0.0), ..choice.clone() };
    assert_eq!(tee.runs(&moved).unwrap().runs[0].points[0].at, DVec2::new(41.0, 100.0));
    let middle = tee.move_to_middle(&choice, DVec2::new(100.0, 60.0));
    assert_eq!(middle, DVec2::new(40.0, -5.0));
    for wrong in [
        Choice { width_mm: f64::NAN, ..choice.clone() },
        Choice { depth_mm: 0.0, ..choice.clone() },
        Choice { scale: -1.0, ..choice.clone() },
        Choice { layers: vec!["C".to_owned()], ..choice.clone() },
    ] {
        assert!(tee.runs(&wrong).is_err(), "{wrong:?}");
    }
    let far = tee.runs(&Choice { move_mm: DVec2::new(1e6, 0.0), ..choice }).unwrap();
    assert_eq!((far.runs.len(), far.refused.len()), (0, 2));
}

#[test]
fn groups_with_a_label_name_what_is_in_them() {
    let read = from_svg(
        MM,
        "<g xmlns:i=\"urn:i\" i:label=\"edge\" id=\"layer1\"><g id=\"g7\"><path d=\"M0 0h4\"/></g>\
         <g id=\"g8\"><path d=\"M4 0h4\"/></g></g><g id=\"plain\"><path d=\"M0 9h4\"/></g>",
    );
    assert_eq!(read.layers(), [("edge", 1), ("plain", 1)], "joined across groups without a label");
}
