//! Reads SVG: paths with all their commands, the basic shapes, groups, transforms, and `use`.
//!
//! Lines and fills are alike: what counts is where the edge runs. Styles are not looked at, but for what is
//! hidden. y goes down in SVG and up here.

mod guard;
mod path;
mod shape;
mod viewport;

use std::collections::BTreeMap;
use std::str::FromStr;

use glam::{DAffine2, DMat2, DVec2};
use roxmltree::{Document, Node, ParsingOptions};
use svgtypes::Transform;

use super::collect::Collector;
use super::{ImportError, Imported, MAX_BYTES, MAX_ENTITIES, MAX_NESTING};
use viewport::{PX_MM, Viewport};

/// Which way a length runs, for what a percentage is of.
#[derive(Clone, Copy, Debug)]
enum Axis {
    X,
    Y,
    Both,
}

/// Reads an SVG file.
///
/// # Errors
///
/// [`ImportError`] if it is not one, is broken, goes beyond a limit, or holds nothing that can be used.
pub fn svg(bytes: &[u8]) -> Result<Imported, ImportError> {
    if bytes.len() > MAX_BYTES {
        return Err(ImportError::TooBig { bytes: bytes.len() });
    }
    let not_svg = |detail: String| ImportError::NotSvg { detail };
    let text = std::str::from_utf8(bytes)
        .map_err(|error| not_svg(format!("byte {} is not UTF-8; save it as UTF-8", error.valid_up_to())))?;
    guard::check(text)?;
    // Elements and the white space between them.
    let nodes_limit = 4 * u32::try_from(MAX_ENTITIES).unwrap_or(u32::MAX);
    let options = ParsingOptions { allow_dtd: true, nodes_limit, ..ParsingOptions::default() };
    let document = Document::parse_with_options(text, options).map_err(|error| match error {
        roxmltree::Error::NodesLimitReached => ImportError::TooManyEntities,
        error => not_svg(format!("{error}; save it again as plain SVG")),
    })?;
    let root = document.root_element();
    if root.tag_name().name() != "svg" {
        return Err(not_svg(format!("its outermost element is {:.40}, not svg", root.tag_name().name())));
    }
    let mut ids = BTreeMap::new();
    for node in document.descendants() {
        if let Some(id) = node.attribute("id") {
            ids.entry(id).or_insert(node);
        }
    }

    let mut remarks = Vec::new();
    let unknown = Viewport { size: DVec2::splat(100.0) };
    let size = [("width", Axis::X), ("height", Axis::Y)].map(|(name, axis)| {
        let given = root.attribute(name).filter(|text| !text.contains('%'));
        given.and_then(|_| unknown.attribute(root, name, axis).ok().flatten()).filter(|length| *length > 0.0)
    });
    if size == [None, None] {
        remarks.push("The file does not say its size; taken as 96 units to the inch".to_owned());
    }
    let (viewport, map) = viewport::inside(root, unknown, size);
    let height_mm = size[1].unwrap_or_else(|| map.transform_vector2(viewport.size).y) * PX_MM;
    let height_mm = if size[1].is_none() && root.attribute("viewBox").is_none() { 0.0 } else { height_mm };
    let to_mm = DAffine2::from_translation(DVec2::new(0.0, height_mm))
        * DAffine2::from_scale(DVec2::new(PX_MM, -PX_MM))
        * map;
    let mut drawing = Drawing { ids, collector: Collector::default() };
    drawing.children(root, Place { to_mm, viewport, layer: "", named: false }, 0)?;
    drawing.collector.finish(remarks)
}

/// Where an element is drawn.
#[derive(Clone, Copy)]
struct Place<'a> {
    to_mm: DAffine2,
    viewport: Viewport,
    /// Name of the innermost group with a label; of the innermost with an id, where none has a label.
    layer: &'a str,
    /// Whether ids of groups do not count any more: within one with a label, or within a `use`.
    named: bool,
}

struct Drawing<'a> {
    ids: BTreeMap<&'a str, Node<'a, 'a>>,
    collector: Collector,
}

impl<'a> Drawing<'a> {
    fn children(&mut self, node: Node<'a, 'a>, place: Place<'a>, depth: usize) -> Result<(), ImportError> {
        if depth > MAX_NESTING {
            return Err(ImportError::TooDeep { name: node.tag_name().name().chars().take(40).collect() });
        }
        node.children().filter(Node::is_element).try_for_each(|child| self.element(child, place, depth))
    }

    fn element(&mut self, node: Node<'a, 'a>, place: Place<'a>, depth: usize) -> Result<(), ImportError> {
        let kind = node.tag_name().name();
        if !matches!(node.tag_name().namespace(), None | Some("http://www.w3.org/2000/svg")) {
            return Ok(());
        }
        self.collector.count()?;
        let is_drawn = matches!(
            kind,
            "g" | "a"
                | "switch"
                | "svg"
                | "use"
                | "path"
                | "line"
                | "polyline"
                | "polygon"
                | "rect"
                | "circle"
                | "ellipse"
                | "text"
                | "image"
                | "foreignObject"
        );
        if is_drawn && is_hidden(node) {
            self.collector.skip(kind, "hidden");
            return Ok(());
        }
        let mut place = place;
        if let Some(text) = node.attribute("transform").filter(|_| is_drawn) {
            let Ok(Transform { a, b, c, d, e, f }) = Transform::from_str(text) else {
                self.collector.skip(kind, "its transform cannot be read");
                return Ok(());
            };
            place.to_mm *= DAffine2 {
                matrix2: DMat2::from_cols(DVec2::new(a, b), DVec2::new(c, d)),
                translation: DVec2::new(e, f),
            };
        }
        match kind {
            "g" | "a" | "switch" => {
                // Drawing programs show a label, and give every group an id of their own.
                if let Some(label) = node.attributes().find(|attribute| attribute.name() == "label") {
                    (place.layer, place.named) = (label.value(), true);
                } else if let Some(id) = node.attribute("id").filter(|_| !place.named) {
                    place.layer = id;
                }
                self.children(node, place, depth + 1)
            }
            "svg" => self.nested(node, place, [None, None], depth),
            "use" => self.reuse(node, place, depth),
            "path" => {
                let layer = self.collector.layer(place.layer);
                let data = node.attribute("d").unwrap_or_default();
                path::draw(data, place.to_mm, layer, &mut self.collector)
            }
            "line" | "polyline" | "polygon" | "rect" | "circle" | "ellipse" => {
                let layer = self.collector.layer(place.layer);
                shape::draw(node, place.viewport, place.to_mm, layer, &mut self.collector)
            }
            "text" => self.skip(kind, "has no line to follow"),
            "image" | "foreignObject" => self.skip(kind, "not a line drawing"),
            // Definitions, descriptions and styles draw nothing by themselves.
            _ => Ok(()),
        }
    }

    fn skip(&mut self, kind: &str, why: &'static str) -> Result<(), ImportError> {
        self.collector.skip(kind, why);
        Ok(())
    }

    /// An `svg` or `symbol` within the drawing, at a size that a `use` may give.
    fn nested(
        &mut self,
        node: Node<'a, 'a>,
        mut place: Place<'a>,
        given: [Option<f64>; 2],
        depth: usize,
    ) -> Result<(), ImportError> {
        let of = |name, axis| place.viewport.attribute(node, name, axis).ok().flatten();
        let size = [given[0].or_else(|| of("width", Axis::X)), given[1].or_else(|| of("height", Axis::Y))];
        let size = [size[0].or(Some(place.viewport.size.x)), size[1].or(Some(place.viewport.size.y))];
        let at = DVec2::new(of("x", Axis::X).unwrap_or(0.0), of("y", Axis::Y).unwrap_or(0.0));
        let (viewport, map) = viewport::inside(node, place.viewport, size);
        place.to_mm *= DAffine2::from_translation(at) * map;
        place.viewport = viewport;
        self.children(node, place, depth + 1)
    }

    fn reuse(&mut self, node: Node<'a, 'a>, mut place: Place<'a>, depth: usize) -> Result<(), ImportError> {
        if depth >= MAX_NESTING {
            return Err(ImportError::TooDeep { name: "use".to_owned() });
        }
        let link =
            node.attribute("href").or_else(|| node.attribute(("http://www.w3.org/1999/xlink", "href")));
        let target =
            link.and_then(|link| link.trim().strip_prefix('#')).and_then(|id| self.ids.get(id)).copied();
        let Some(target) = target else { return self.skip("use", "what it refers to is not in the file") };
        let of = |name, axis| place.viewport.attribute(node, name, axis).ok().flatten();
        let at = DVec2::new(of("x", Axis::X).unwrap_or(0.0), of("y", Axis::Y).unwrap_or(0.0));
        let size = [of("width", Axis::X), of("height", Axis::Y)];
        place.to_mm *= DAffine2::from_translation(at);
        place.named = true;
        if matches!(target.tag_name().name(), "symbol" | "svg") {
            self.nested(target, place, size, depth + 1)
        } else {
            self.element(target, place, depth + 1)
        }
    }
}

/// Whether an element is told not to show, by an attribute or its own style.
fn is_hidden(node: Node<'_, '_>) -> bool {
    let style = node.attribute("style").unwrap_or_default();
    let styled = |name: &str| {
        let found =
            style.split(';').filter_map(|rule| rule.split_once(':')).find(|(key, _)| key.trim() == name);
        found.map(|(_, value)| value.trim())
    };
    styled("display").or_else(|| node.attribute("display")) == Some("none")
        || matches!(
            styled("visibility").or_else(|| node.attribute("visibility")),
            Some("hidden" | "collapse")
        )
}
