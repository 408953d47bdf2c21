//! A section as an SVG picture in millimetres, to the thousandth: what the checks compare with.

use std::fmt::Write as _;

use glam::DVec2;
use keepside_model::Half;

use super::measure::Run;
use super::scene::{LineKind, Scene, Stuff};

/// Height of the lettering, mm.
const LETTERS_MM: f64 = 0.55;

/// The picture of both plates near the item.
pub(super) fn svg(scene: &Scene) -> String {
    let (low, high) = scene.near;
    let size = high - low;
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"{} {} {} {}\" width=\"{}\" height=\"{}\">\n",
        short(low.x),
        short(-high.y),
        short(size.x),
        short(size.y),
        short(60.0 * size.x),
        short(60.0 * size.y),
    );
    let mut put = |line: String| {
        text += &line;
        text += "\n";
    };
    put(format!("<title>{}</title>", scene.title));
    for area in &scene.areas {
        let (name, fill) = paint(area.stuff, scene.half);
        put(format!("<g id=\"{name}\" fill=\"{fill}\" stroke=\"none\">"));
        for piece in &area.pieces {
            put(format!("<path d=\"{}Z\"/>", path(piece)));
        }
        put("</g><g fill=\"none\" stroke=\"#222\" stroke-width=\"0.04\">".to_owned());
        for edge in area.edges.iter().filter(|edge| edge.len() > 1) {
            put(format!("<path d=\"{}\"/>", path(edge)));
        }
        put("</g>".to_owned());
    }
    for line in &scene.lines {
        let dash = if line.kind == LineKind::Axis { " stroke-dasharray=\"0.8 0.2 0.2 0.2\"" } else { "" };
        let path = path(&line.points);
        put(format!("<path fill=\"none\" stroke=\"#555\" stroke-width=\"0.02\"{dash} d=\"{path}\"/>"));
    }
    for measure in &scene.measures {
        let (from, to) = match measure.run {
            Run::Between => (measure.from, measure.to),
            Run::Upright(x) => (DVec2::new(x, measure.from.y), DVec2::new(x, measure.to.y)),
            Run::Level(z) => (DVec2::new(measure.from.x, z), DVec2::new(measure.to.x, z)),
        };
        let ink = if measure.is_tight() { "#b3261e" } else { "#222" };
        let at = from.midpoint(to);
        put(format!("<path stroke=\"{ink}\" stroke-width=\"0.03\" d=\"{}\"/>", path(&[from, to])));
        put(format!(
            "<text x=\"{}\" y=\"{}\" font-size=\"{LETTERS_MM}\" fill=\"{ink}\"><title>{}</title>{:.2}</text>",
            short(at.x),
            short(-at.y),
            measure.words(),
            measure.value_mm + 0.0,
        ));
    }
    for words in &scene.uncertain {
        put(format!("<desc>{words}</desc>"));
    }
    text += "</svg>\n";
    text
}

const fn paint(stuff: Stuff, half: Half) -> (&'static str, &'static str) {
    match (stuff, half) {
        (Stuff::Plate(Half::Moving), _) => ("moving", "#d5e4ef"),
        (Stuff::Plate(Half::Fixed), _) => ("fixed", "#f3e0d2"),
        (Stuff::Plastic, _) => ("plastic", "#d9d2be"),
        (Stuff::Empty, _) => ("empty", "#ffffff"),
        (Stuff::Steel, Half::Moving) => ("steel", "#94b9d6"),
        (Stuff::Steel, Half::Fixed) => ("steel", "#e3b494"),
        (Stuff::Lock, _) => ("lock", "#c9c9c9"),
    }
}

fn path(points: &[DVec2]) -> String {
    let mut text = String::new();
    for (index, point) in points.iter().enumerate() {
        let letter = if index == 0 { 'M' } else { 'L' };
        // Writing to a string does not fail.
        let _written = write!(text, "{letter}{} {}", short(point.x), short(-point.y));
    }
    text
}

/// To the thousandth, without needless noughts.
fn short(value: f64) -> String {
    let text = format!("{:.3}", (value * 1e3).round() / 1e3 + 0.0);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
