//! Screws by their standards, and the keys that turn them.

use keepside_engine::hardware::{self, KeyArm, Sold, Stock};
use keepside_engine::mount::{self, Mount};
use keepside_model::{Project, ScrewEnd, ThreadSize};

use super::Line;
use super::tally::Tally;
use crate::document::mm;

/// The standard of a screw and its name there. Of a set screw that stands socket up any point will do: the
/// flat one is listed.
const fn standard(stock: Stock) -> (&'static str, &'static str) {
    match stock {
        Stock::SetScrew(ScrewEnd::Socket | ScrewEnd::Flat) => {
            ("ISO 4026", "hexagon socket set screw, flat point")
        }
        Stock::SetScrew(ScrewEnd::Cone) => ("ISO 4027", "hexagon socket set screw, cone point"),
        Stock::SetScrew(ScrewEnd::Dog) => ("ISO 4028", "hexagon socket set screw, dog point"),
        Stock::SetScrew(ScrewEnd::Cup) => ("ISO 4029", "hexagon socket set screw, cup point"),
        Stock::CapScrew => ("ISO 4762", "hexagon socket head cap screw"),
    }
}

/// The number of the standard, to sort by.
const fn number(stock: Stock) -> f64 {
    match stock {
        Stock::SetScrew(ScrewEnd::Socket | ScrewEnd::Flat) => 4026.0,
        Stock::SetScrew(ScrewEnd::Cone) => 4027.0,
        Stock::SetScrew(ScrewEnd::Dog) => 4028.0,
        Stock::SetScrew(ScrewEnd::Cup) => 4029.0,
        Stock::CapScrew => 4762.0,
    }
}

/// Before the tag of a feature against which a second screw is driven.
pub(super) const BEHIND: &str = "behind ";

/// The mounts of all keying features with their tags.
pub(super) fn mounts(project: &Project) -> impl Iterator<Item = (String, Mount)> {
    project.features.keys().filter_map(|id| Some((project.tag(*id), mount::of(project, *id)?)))
}

/// Every screw: those that key, and those driven against them from behind.
pub(super) fn screws(project: &Project) -> Vec<Line> {
    let mut tally = Tally::default();
    for (tag, mount) in mounts(project) {
        if let Some(screw) = &mount.screw {
            let line = bought(&mut tally, project, screw.stock, screw.thread, screw.length_mm);
            line.one_more(tag.clone());
            if screw.stock == Stock::CapScrew && mount.made() != "As bought" {
                line.remark_on(mount.made(), Some(&tag));
            }
        }
        if let Some((thread, length_mm)) = mount.locking.back_screw {
            let stock = Stock::SetScrew(ScrewEnd::Flat);
            bought(&mut tally, project, stock, thread, length_mm).one_more(format!("{BEHIND}{tag}"));
        }
    }
    tally.lines()
}

/// The line of a screw as it is bought.
fn bought<'t>(
    tally: &'t mut Tally,
    project: &Project,
    stock: Stock,
    thread: ThreadSize,
    length_mm: f64,
) -> &'t mut Line {
    let key = &[number(stock), hardware::nominal_diameter_mm(thread), length_mm];
    tally.line(key, || {
        let (standard, name) = standard(stock);
        let sold = hardware::sold(stock, thread, length_mm);
        let remark = match sold {
            Sold::Yes => None,
            Sold::Uncertain => Some("check that this length is sold: the tables are not sure of it"),
            Sold::No => Some("not sold in this length: cut a longer one"),
        };
        Line {
            what: format!("{standard}, {name}"),
            size: format!("{} × {}", thread.designation(), mm(length_mm)),
            in_drawer: project.drawer.contains(&thread),
            uncertain: sold == Sold::Uncertain,
            remarks: remark.map(|remark| (remark.to_owned(), Vec::new())).into_iter().collect(),
            ..Line::default()
        }
    })
}

/// Every key, with which of its arms reaches.
pub(super) fn keys(project: &Project) -> Vec<Line> {
    let mut tally = Tally::default();
    let mut add = |width_mm: f64, tag: String, remark: &str| {
        let what = "hexagon key, ISO 2936".to_owned();
        let size = format!("{} mm", mm(width_mm));
        let new = || Line { what, size, ..Line::default() };
        let line = tally.line(&[width_mm], new);
        line.remark_on(remark, Some(&tag));
        line.needed_for(tag);
    };
    for (tag, mount) in mounts(project) {
        if let Some(key) = &mount.key {
            let remark = match key.arm {
                Some(KeyArm::Short) => "",
                Some(arm) => arm.word(),
                None => "no such key reaches deep enough",
            };
            add(key.width_mm, tag.clone(), remark);
        }
        if let Some((thread, _)) = mount.locking.back_screw {
            add(hardware::set_screw(thread).socket_mm, format!("{BEHIND}{tag}"), "");
        }
    }
    tally.lines()
}
