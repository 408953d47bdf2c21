//! The basic shapes of SVG, after W3C SVG 1.1 (second edition), chapter 9.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use glam::{DAffine2, DVec2};
use roxmltree::Node;
use svgtypes::PointsParser;

use super::super::ImportError;
use super::super::collect::Collector;
use super::Axis;
use super::viewport::Viewport;

/// Draws a basic shape.
pub(super) fn draw(
    node: Node<'_, '_>,
    viewport: Viewport,
    to_mm: DAffine2,
    layer: usize,
    collector: &mut Collector,
) -> Result<(), ImportError> {
    let kind = node.tag_name().name();
    let length = |name, axis| viewport.attribute(node, name, axis);
    let number = |name, axis| length(name, axis).map(Option::unwrap_or_default);
    let point = |x, y| Ok::<_, &'static str>(DVec2::new(number(x, Axis::X)?, number(y, Axis::Y)?));
    match kind {
        "line" => {
            let (Ok(from), Ok(to)) = (point("x1", "y1"), point("x2", "y2")) else {
                collector.skip(kind, NO_LENGTH);
                return Ok(());
            };
            collector.bulged(layer, to_mm, from, 0.0, to)
        }
        "polyline" | "polygon" => {
            let points = node.attribute("points").unwrap_or_default();
            let points: Vec<DVec2> = PointsParser::from(points).map(|(x, y)| DVec2::new(x, y)).collect();
            let last = if kind == "polygon" { points.first() } else { None };
            for (from, to) in points.iter().zip(points.iter().skip(1).chain(last)) {
                collector.bulged(layer, to_mm, *from, 0.0, *to)?;
            }
            Ok(())
        }
        "circle" | "ellipse" => {
            let radii = if kind == "circle" {
                number("r", Axis::Both).map(DVec2::splat)
            } else {
                radii(node, viewport).map(|(x, y)| DVec2::new(x.or(y).unwrap_or(0.0), y.or(x).unwrap_or(0.0)))
            };
            let (Ok(centre), Ok(radii)) = (point("cx", "cy"), radii) else {
                collector.skip(kind, NO_LENGTH);
                return Ok(());
            };
            if radii.min_element() <= 0.0 {
                collector.skip(kind, "has no radius");
                return Ok(());
            }
            let axes = [centre, DVec2::new(radii.x, 0.0), DVec2::new(0.0, radii.y)];
            collector.ellipse(layer, to_mm, axes, 0.0, TAU)
        }
        _ => {
            let (Ok(low), Ok(size), Ok((rx, ry))) =
                (point("x", "y"), point("width", "height"), radii(node, viewport))
            else {
                collector.skip(kind, NO_LENGTH);
                return Ok(());
            };
            if size.min_element() <= 0.0 {
                collector.skip(kind, "has no area");
                return Ok(());
            }
            // A radius that is not given is the other; neither goes beyond the middle.
            let radii = DVec2::new(rx.or(ry).unwrap_or(0.0), ry.or(rx).unwrap_or(0.0));
            rectangle(low, size, radii.max(DVec2::ZERO).min(size / 2.0), to_mm, layer, collector)
        }
    }
}

const NO_LENGTH: &str = "its lengths cannot be read";

fn radii(node: Node<'_, '_>, viewport: Viewport) -> Result<(Option<f64>, Option<f64>), &'static str> {
    Ok((viewport.attribute(node, "rx", Axis::X)?, viewport.attribute(node, "ry", Axis::Y)?))
}

fn rectangle(
    low: DVec2,
    size: DVec2,
    radii: DVec2,
    to_mm: DAffine2,
    layer: usize,
    collector: &mut Collector,
) -> Result<(), ImportError> {
    let high = low + size;
    let radii = if radii.min_element() > 0.0 { radii } else { DVec2::ZERO };
    // From the upper left clockwise as seen: each side, then the corner after it by its centre.
    let (x, y) = (DVec2::new(radii.x, 0.0), DVec2::new(0.0, radii.y));
    let corners = [
        (low, DVec2::new(high.x, low.y), x, -x, DVec2::new(-radii.x, radii.y), -FRAC_PI_2),
        (DVec2::new(high.x, low.y), high, y, -y, -radii, 0.0),
        (high, DVec2::new(low.x, high.y), -x, x, DVec2::new(radii.x, -radii.y), FRAC_PI_2),
        (DVec2::new(low.x, high.y), low, -y, y, radii, PI),
    ];
    for (from, to, first, last, centre, from_rad) in corners {
        if (from + first).distance_squared(to + last) > 0.0 {
            collector.bulged(layer, to_mm, from + first, 0.0, to + last)?;
        }
        if radii != DVec2::ZERO {
            collector.ellipse(layer, to_mm, [to + centre, x, y], from_rad, FRAC_PI_2)?;
        }
    }
    Ok(())
}
