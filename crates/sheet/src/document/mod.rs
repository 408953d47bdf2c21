//! Papers that are read from top to bottom: headings, text, tables, pictures, flowing over pages.

mod flow;
mod labels;
mod plot;
mod table;
mod text;

pub(crate) use flow::Flow;
pub(crate) use labels::{Labels, left_out};
pub(crate) use plot::{Curve, Dot, Plot, Scale};
pub(crate) use table::{Column, Table};
pub(crate) use text::{broken, decimals, figure, mm, signed};

use glam::DVec2;
use keepside_model::{Paper, Project};

/// Size of the paper on which texts are printed, upright, mm: US Letter if the project asks for it, else ISO
/// 216 A4, as nobody reads a text on A3.
pub(crate) const fn paper_mm(project: &Project) -> DVec2 {
    match project.sheet.paper {
        Paper::Letter => DVec2::new(215.9, 279.4),
        Paper::Automatic | Paper::A4 | Paper::A3 => DVec2::new(210.0, 297.0),
    }
}

/// Letter size of plain text, mm.
pub(crate) const TEXT_MM: f64 = 3.1;
/// Letter size in tables and on pictures, mm.
pub(crate) const SMALL_MM: f64 = 2.8;
