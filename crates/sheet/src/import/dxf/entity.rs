//! One thing drawn in a DXF file, flat in x and y.

use std::f64::consts::TAU;

use glam::DVec2;

use super::super::curve::Arc;
use super::super::{ChainPoint, ImportError};
use super::records::{Record, Records};
use super::spline::Spline;

/// What is not flat is left out for this reason.
const NOT_FLAT: &str = "not flat in x and y";

/// A thing drawn.
#[derive(Debug)]
pub(super) struct Entity<'a> {
    pub(super) layer: &'a str,
    pub(super) shape: Shape<'a>,
    /// Whether x runs the other way: drawn on the underside of the plane.
    pub(super) mirrored: bool,
}

/// Its shape, in the unit of the file.
#[derive(Debug)]
pub(super) enum Shape<'a> {
    Path {
        points: Vec<ChainPoint>,
        closed: bool,
    },
    Arc(Arc),
    Ellipse {
        axes: [DVec2; 3],
        from_rad: f64,
        sweep_rad: f64,
    },
    Spline(Spline),
    Insert(Insert<'a>),
    /// Left out: what it is, why.
    Skipped(String, &'static str),
}

/// A block put somewhere, perhaps in rows and columns.
#[derive(Debug)]
pub(super) struct Insert<'a> {
    pub(super) block: &'a str,
    pub(super) at: DVec2,
    pub(super) scale: DVec2,
    pub(super) turn_rad: f64,
    pub(super) columns: i64,
    pub(super) rows: i64,
    pub(super) spacing: DVec2,
}

/// Reads the thing that a record begins, with the records that belong to it; `None` if it is no thing.
pub(super) fn read<'a>(
    record: &Record<'a>,
    records: &mut Records<'a>,
) -> Result<Option<Entity<'a>>, ImportError> {
    let layer = record.text(8).unwrap_or("0").trim();
    let entity = |shape| Ok(Some(Entity { layer, shape, mirrored: false }));
    let skip = |why| entity(Shape::Skipped(word(record.kind), why));
    // The parts of a polyline are read even if it is left out.
    let vertices = if record.kind == "POLYLINE" { vertices(records)? } else { Vec::new() };
    if record.whole(67, 0)? == 1 {
        return skip("on the paper, not in the drawing");
    }
    if record.whole(60, 0)? == 1 {
        return skip("hidden");
    }
    let normal = [record.number(210, 0.0)?, record.number(220, 0.0)?, record.number(230, 1.0)?];
    let tilted = normal[0].abs() > 1e-9 || normal[1].abs() > 1e-9 || normal[2] == 0.0;
    let mirrored = normal[2] < 0.0;
    let planar = |shape| if tilted { skip(NOT_FLAT) } else { Ok(Some(Entity { layer, shape, mirrored })) };
    match record.kind {
        "LINE" => {
            if record.number(30, 0.0)? != record.number(31, 0.0)? {
                return skip(NOT_FLAT);
            }
            let points = [record.point(10)?, record.point(11)?].map(|at| ChainPoint { at, bulge: 0.0 });
            entity(Shape::Path { points: points.to_vec(), closed: false })
        }
        "CIRCLE" | "ARC" => {
            let (centre, radius_mm) = (record.point(10)?, record.number(40, 0.0)?);
            if radius_mm <= 0.0 {
                return skip("has no radius");
            }
            let [from_rad, to_rad] = match record.kind {
                "ARC" => [record.number(50, 0.0)?.to_radians(), record.number(51, 360.0)?.to_radians()],
                _ => [0.0, TAU],
            };
            let sweep_rad = swept_rad(from_rad, to_rad);
            planar(Shape::Arc(Arc { centre, radius_mm, from_rad, sweep_rad }))
        }
        "ELLIPSE" => {
            if tilted || record.number(31, 0.0)? != 0.0 {
                return skip(NOT_FLAT);
            }
            let (centre, along) = (record.point(10)?, record.point(11)?);
            let side = if mirrored { -along.perp() } else { along.perp() };
            let across = side * record.number(40, 1.0)?;
            let (from_rad, to_rad) = (record.number(41, 0.0)?, record.number(42, TAU)?);
            let sweep_rad = swept_rad(from_rad, to_rad);
            entity(Shape::Ellipse { axes: [centre, along, across], from_rad, sweep_rad })
        }
        "LWPOLYLINE" => {
            let closed = record.whole(70, 0)? & 1 == 1;
            planar(Shape::Path { points: light_points(record)?, closed })
        }
        "POLYLINE" => {
            let flags = record.whole(70, 0)?;
            if flags & (16 | 64) != 0 {
                return skip("a mesh");
            }
            let level = vertices.first().map(|vertex| vertex.z);
            if flags & 8 != 0 && vertices.iter().any(|vertex| Some(vertex.z) != level) {
                return skip(NOT_FLAT);
            }
            let points = vertices.iter().map(|vertex| vertex.point).collect();
            let shape = Shape::Path { points, closed: flags & 1 == 1 };
            if flags & 8 != 0 { entity(shape) } else { planar(shape) }
        }
        "SPLINE" => spline(record)?.map_or_else(skip, |spline| entity(Shape::Spline(spline))),
        "INSERT" => planar(Shape::Insert(Insert {
            block: record.text(2).unwrap_or_default().trim(),
            at: record.point(10)?,
            scale: DVec2::new(record.number(41, 1.0)?, record.number(42, 1.0)?),
            turn_rad: record.number(50, 0.0)?.to_radians(),
            columns: record.whole(70, 1)?.max(1),
            rows: record.whole(71, 1)?.max(1),
            spacing: DVec2::new(record.number(44, 0.0)?, record.number(45, 0.0)?),
        })),
        "SEQEND" | "VERTEX" | "ENDBLK" | "ENDSEC" => Ok(None),
        "TEXT" | "MTEXT" | "ATTRIB" | "ATTDEF" | "POINT" => skip("has no line to follow"),
        "HATCH" | "SOLID" | "TRACE" => skip("an area, not a line"),
        "DIMENSION" | "LEADER" | "MULTILEADER" | "TOLERANCE" => skip("tells a size, is no edge"),
        "RAY" | "XLINE" => skip("has no end"),
        "3DFACE" | "3DSOLID" | "BODY" | "REGION" | "SURFACE" | "MESH" => skip(NOT_FLAT),
        _ => skip("not read"),
    }
}

/// Counter-clockwise from one angle to another, a full turn if they are the same.
fn swept_rad(from_rad: f64, to_rad: f64) -> f64 {
    let swept = (to_rad - from_rad).rem_euclid(TAU);
    if swept < 1e-12 { TAU } else { swept }
}

/// The kind of a record in plain words.
fn word(kind: &str) -> String {
    match kind {
        "MTEXT" | "TEXT" => "text".to_owned(),
        "ATTRIB" | "ATTDEF" => "text of a block".to_owned(),
        "LWPOLYLINE" | "POLYLINE" => "polyline".to_owned(),
        "INSERT" => "block".to_owned(),
        "XLINE" | "RAY" => "construction line".to_owned(),
        _ => kind.to_lowercase(),
    }
}

struct Vertex {
    point: ChainPoint,
    z: f64,
}

/// The vertices that follow a polyline's record.
fn vertices(records: &mut Records<'_>) -> Result<Vec<Vertex>, ImportError> {
    let mut vertices = Vec::new();
    while records.ahead() == Some("VERTEX") {
        let Some(record) = records.next()? else { break };
        // Control points of a spline that the other vertices follow.
        if record.whole(70, 0)? & 16 == 0 {
            let point = ChainPoint { at: record.point(10)?, bulge: record.number(42, 0.0)? };
            vertices.push(Vertex { point, z: record.number(30, 0.0)? });
        }
    }
    Ok(vertices)
}

/// The points of a polyline held in one record: a new one begins at each x.
fn light_points(record: &Record<'_>) -> Result<Vec<ChainPoint>, ImportError> {
    let mut points: Vec<ChainPoint> = Vec::new();
    for &(code, text, line) in &record.pairs {
        match (code, points.last_mut()) {
            (10, _) => {
                let at = DVec2::new(super::records::number(text, line)?, 0.0);
                points.push(ChainPoint { at, bulge: 0.0 });
            }
            (20, Some(point)) => point.at.y = super::records::number(text, line)?,
            (42, Some(point)) => point.bulge = super::records::number(text, line)?,
            _ => {}
        }
    }
    Ok(points)
}

/// The spline of a record, or why it is left out.
fn spline(record: &Record<'_>) -> Result<Result<Spline, &'static str>, ImportError> {
    let (xs, ys, zs) = (record.numbers(10)?, record.numbers(20)?, record.numbers(30)?);
    if zs.iter().any(|z| Some(z) != zs.first()) {
        return Ok(Err(NOT_FLAT));
    }
    if xs.is_empty() && !record.numbers(11)?.is_empty() {
        return Ok(Err("given only by points to pass through"));
    }
    let points: Vec<DVec2> = xs.iter().zip(&ys).map(|(x, y)| DVec2::new(*x, *y)).collect();
    Ok(Spline::new(record.whole(71, 3)?, record.numbers(40)?, &points, &record.numbers(41)?))
}
