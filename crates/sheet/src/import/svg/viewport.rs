//! Lengths of an SVG file, and how its own units become millimetres.
//!
//! W3C SVG 1.1 (second edition), chapter 7; a px is 1/96 inch after CSS Values and Units, chapter 6.2.

use std::str::FromStr;

use glam::{DAffine2, DVec2};
use roxmltree::Node;
use svgtypes::{Align, AspectRatio, Length, LengthUnit, ViewBox};

use super::Axis;

/// Millimetres a px: 96 to the inch.
pub(super) const PX_MM: f64 = 25.4 / 96.0;
/// Size of a letter where none is given, px: what viewers use.
const EM_PX: f64 = 16.0;

/// What percentages are of, in the file's own unit.
#[derive(Clone, Copy, Debug)]
pub(super) struct Viewport {
    pub(super) size: DVec2,
}

impl Viewport {
    /// An attribute that is a length, in the file's own unit; an error if it is none.
    pub(super) fn attribute(
        self,
        node: Node<'_, '_>,
        name: &str,
        axis: Axis,
    ) -> Result<Option<f64>, &'static str> {
        let Some(text) = node.attribute(name).filter(|text| text.trim() != "auto") else { return Ok(None) };
        let length = Length::from_str(text.trim()).map_err(|_unreadable| "its lengths cannot be read")?;
        Ok(Some(self.length(length, axis)))
    }

    fn length(self, length: Length, axis: Axis) -> f64 {
        let whole = match axis {
            Axis::X => self.size.x,
            Axis::Y => self.size.y,
            Axis::Both => self.size.length() / std::f64::consts::SQRT_2,
        };
        let px = match length.unit {
            LengthUnit::None | LengthUnit::Px => 1.0,
            LengthUnit::Em => EM_PX,
            LengthUnit::Ex => EM_PX / 2.0,
            LengthUnit::In => 96.0,
            LengthUnit::Cm => 96.0 / 2.54,
            LengthUnit::Mm => 96.0 / 25.4,
            LengthUnit::Pt => 96.0 / 72.0,
            LengthUnit::Pc => 16.0,
            LengthUnit::Percent => whole / 100.0,
        };
        length.number * px
    }
}

/// The viewport of an `svg` or `symbol` element of a size, and the map of what is in it to the unit outside.
pub(super) fn inside(node: Node<'_, '_>, outer: Viewport, size: [Option<f64>; 2]) -> (Viewport, DAffine2) {
    let view_box = node.attribute("viewBox").and_then(|text| ViewBox::from_str(text).ok());
    let Some(view_box) = view_box.filter(|view_box| view_box.w > 0.0 && view_box.h > 0.0) else {
        let size = DVec2::new(size[0].unwrap_or(outer.size.x), size[1].unwrap_or(outer.size.y));
        return (Viewport { size }, DAffine2::IDENTITY);
    };
    let (low, inner) = (DVec2::new(view_box.x, view_box.y), DVec2::new(view_box.w, view_box.h));
    // One side alone scales both.
    let size = match size {
        [Some(x), Some(y)] => DVec2::new(x, y),
        [Some(x), None] => inner * (x / inner.x),
        [None, Some(y)] => inner * (y / inner.y),
        [None, None] => inner,
    };
    let ratio = node.attribute("preserveAspectRatio").and_then(|text| AspectRatio::from_str(text).ok());
    let ratio = ratio.unwrap_or_default();
    let each = size / inner;
    let scale = match (ratio.align, ratio.slice) {
        (Align::None, _) => each,
        (_, false) => DVec2::splat(each.min_element()),
        (_, true) => DVec2::splat(each.max_element()),
    };
    let spare = size - inner * scale;
    let share = match ratio.align {
        Align::None | Align::XMinYMin => DVec2::ZERO,
        Align::XMidYMin => DVec2::new(0.5, 0.0),
        Align::XMaxYMin => DVec2::new(1.0, 0.0),
        Align::XMinYMid => DVec2::new(0.0, 0.5),
        Align::XMidYMid => DVec2::splat(0.5),
        Align::XMaxYMid => DVec2::new(1.0, 0.5),
        Align::XMinYMax => DVec2::new(0.0, 1.0),
        Align::XMidYMax => DVec2::new(0.5, 1.0),
        Align::XMaxYMax => DVec2::ONE,
    };
    let map = DAffine2::from_translation(spare * share)
        * DAffine2::from_scale(scale)
        * DAffine2::from_translation(-low);
    (Viewport { size: inner }, map)
}
