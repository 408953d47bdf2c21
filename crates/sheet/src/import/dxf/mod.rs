//! Reads ASCII DXF, from R12 to the current form: lines, circles, arcs, ellipses, polylines with bulges,
//! splines, and blocks of them.
//!
//! Group codes after the DXF Reference of the format's publisher (from memory). Names are those of the file;
//! layers are read whether they are shown or not.

mod entity;
mod records;
mod spline;

use std::borrow::Cow;
use std::collections::BTreeMap;

use glam::{DAffine2, DVec2};

use super::collect::Collector;
use super::{ImportError, Imported, MAX_BYTES, MAX_ENTITIES, MAX_NESTING};
use entity::{Entity, Insert, Shape};
use records::Records;

/// How a binary DXF file begins.
const BINARY: &[u8] = b"AutoCAD Binary DXF";

/// Things that can be put in several places.
#[derive(Debug, Default)]
struct Block<'a> {
    base: DVec2,
    entities: Vec<Entity<'a>>,
}

/// Reads a DXF file.
///
/// # Errors
///
/// [`ImportError`] if it is not one, is broken, goes beyond a limit, or holds nothing that can be used.
pub fn dxf(bytes: &[u8]) -> Result<Imported, ImportError> {
    if bytes.len() > MAX_BYTES {
        return Err(ImportError::TooBig { bytes: bytes.len() });
    }
    if bytes.starts_with(BINARY) {
        return Err(ImportError::BinaryDxf);
    }
    // From 2007 on the file is UTF-8; before, names may be in a code page, of which only ASCII is sure.
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => Cow::Borrowed(text),
        Err(_) => Cow::Owned(bytes.iter().map(|&byte| char::from(byte)).collect::<String>()),
    };
    let file = read(&text)?;
    let mut remarks = Vec::new();
    let unit_mm = match file.unit {
        Some(code) if code != 0 => millimetres(code).ok_or(ImportError::DxfUnit { code })?,
        _ => {
            remarks.push("The file does not say its unit; taken as millimetres".to_owned());
            1.0
        }
    };
    let mut drawing = Drawing { blocks: &file.blocks, collector: Collector::default() };
    drawing.draw(&file.entities, DAffine2::from_scale(DVec2::splat(unit_mm)), "0", 0)?;
    drawing.collector.finish(remarks)
}

/// What is read of a file.
#[derive(Default)]
struct File<'a> {
    /// `$INSUNITS`.
    unit: Option<i64>,
    blocks: BTreeMap<&'a str, Block<'a>>,
    entities: Vec<Entity<'a>>,
}

fn read(text: &str) -> Result<File<'_>, ImportError> {
    let mut file = File::default();
    let mut records = Records::new(text)?;
    let mut section = "";
    let mut block = None;
    let mut count = 0;
    while let Some(record) = records.next()? {
        if record.kind == "SECTION" {
            section = record.text(2).unwrap_or_default().trim();
            if section == "HEADER"
                && let Some((text, line)) = record.variable("$INSUNITS")
            {
                file.unit = Some(records::whole(text, line)?);
            }
        }
        match (section, record.kind) {
            (_, "SECTION") => {}
            ("BLOCKS", "BLOCK") => {
                let name = record.text(2).unwrap_or_default().trim();
                file.blocks.insert(name, Block { base: record.point(10)?, entities: Vec::new() });
                block = Some(name);
            }
            ("BLOCKS", "ENDBLK") => block = None,
            ("BLOCKS" | "ENTITIES", _) => {
                let target = match (section, block.and_then(|name| file.blocks.get_mut(name))) {
                    ("BLOCKS", Some(block)) => &mut block.entities,
                    ("BLOCKS", None) => continue,
                    _ => &mut file.entities,
                };
                target.extend(entity::read(&record, &mut records)?);
                count += 1;
                if count > MAX_ENTITIES {
                    return Err(ImportError::TooManyEntities);
                }
            }
            _ => {}
        }
    }
    Ok(file)
}

/// Millimetres in a unit of `$INSUNITS`, for those of a bench or a drawing office.
const fn millimetres(code: i64) -> Option<f64> {
    Some(match code {
        1 => 25.4,
        2 => 304.8,
        4 => 1.0,
        5 => 10.0,
        6 => 1000.0,
        8 => 25.4e-6,
        9 => 25.4e-3,
        10 => 914.4,
        13 => 1e-3,
        14 => 100.0,
        _ => return None,
    })
}

/// Draws entities into a collector, blocks wherever they are put.
struct Drawing<'a> {
    blocks: &'a BTreeMap<&'a str, Block<'a>>,
    collector: Collector,
}

impl<'a> Drawing<'a> {
    /// Draws what is on layer 0 of a block on the layer that the block is put on.
    fn draw(
        &mut self,
        entities: &'a [Entity<'a>],
        to_mm: DAffine2,
        layer_0: &str,
        depth: usize,
    ) -> Result<(), ImportError> {
        for Entity { layer, shape, mirrored } in entities {
            self.collector.count()?;
            let to_mm = if *mirrored { to_mm * DAffine2::from_scale(DVec2::new(-1.0, 1.0)) } else { to_mm };
            let name = if *layer == "0" { layer_0 } else { layer };
            if let Shape::Insert(insert) = shape {
                self.insert(insert, to_mm, name, depth)?;
                continue;
            }
            if let Shape::Skipped(kind, why) = shape {
                self.collector.skip(kind, why);
                continue;
            }
            let layer = self.collector.layer(&plain(name));
            match shape {
                Shape::Path { points, closed } => {
                    let last = if *closed { points.first() } else { None };
                    for (a, b) in points.iter().zip(points.iter().skip(1).chain(last)) {
                        self.collector.bulged(layer, to_mm, a.at, a.bulge, b.at)?;
                    }
                }
                Shape::Arc(arc) => self.collector.arc(layer, to_mm, *arc)?,
                Shape::Ellipse { axes, from_rad, sweep_rad } => {
                    self.collector.ellipse(layer, to_mm, *axes, *from_rad, *sweep_rad)?;
                }
                Shape::Spline(spline) => {
                    self.collector.curve(layer, &|t| spline.at(to_mm, t), &spline.spans())?;
                }
                Shape::Insert(_) | Shape::Skipped(..) => {}
            }
        }
        Ok(())
    }

    fn insert(
        &mut self,
        insert: &Insert<'_>,
        to_mm: DAffine2,
        layer: &str,
        depth: usize,
    ) -> Result<(), ImportError> {
        if depth >= MAX_NESTING {
            return Err(ImportError::TooDeep { name: insert.block.chars().take(40).collect() });
        }
        let Some(block) = self.blocks.get(insert.block) else {
            self.collector.skip("block", "not defined in the file");
            return Ok(());
        };
        let placed = to_mm * DAffine2::from_translation(insert.at) * DAffine2::from_angle(insert.turn_rad);
        for (row, column) in
            (0..insert.rows).flat_map(|row| (0..insert.columns).map(move |column| (row, column)))
        {
            self.collector.count()?;
            #[expect(
                clippy::cast_precision_loss,
                reason = "rows and columns beyond the limit are not reached"
            )]
            let step = insert.spacing * DVec2::new(column as f64, row as f64);
            let map = placed
                * DAffine2::from_translation(step)
                * DAffine2::from_scale(insert.scale)
                * DAffine2::from_translation(-block.base);
            self.draw(&block.entities, map, layer, depth + 1)?;
        }
        Ok(())
    }
}

/// A name with the characters that older files write as `\U+XXXX`.
fn plain(name: &str) -> String {
    let mut plain = String::new();
    let mut rest = name;
    while let Some(at) = rest.find("\\U+") {
        let (before, code) = (rest.get(..at).unwrap_or_default(), rest.get(at + 3..at + 7));
        plain += before;
        match code.and_then(|code| u32::from_str_radix(code, 16).ok()).and_then(char::from_u32) {
            Some(character) => {
                plain.push(character);
                rest = rest.get(at + 7..).unwrap_or_default();
            }
            None => {
                plain += "\\U+";
                rest = rest.get(at + 3..).unwrap_or_default();
            }
        }
    }
    plain + rest
}
