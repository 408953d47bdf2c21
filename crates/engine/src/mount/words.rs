//! A mount told in words, for the sheet and the editor.

use keepside_model::{FeatureKind, Lock, ScrewEnd};

use super::{Face, Key, LockProblem, Mount, Screw};
use crate::hardware::{self, KeyArm, Sold, Stock};

/// A length with up to two decimals and no needless zeros: "3.3", "2.05", "4".
fn mm(value_mm: f64) -> String {
    let text = format!("{value_mm:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

impl Screw {
    /// What to buy, for example "set screw with dog point M4 × 10"; says so where it is not sure to be sold.
    pub fn words(&self) -> String {
        let what = format!("{} {} × {}", self.stock.word(), self.thread.designation(), mm(self.length_mm));
        match self.sold {
            Sold::Yes => what,
            Sold::Uncertain => format!("{what} (check that it is sold)"),
            Sold::No => format!("{what} (not sold; cut a longer one)"),
        }
    }
}

impl Key {
    /// The key and how deep it reaches, for example "2 mm key from behind, short arm, 9.7 mm deep".
    pub fn words(&self) -> String {
        let from = match self.from {
            Face::Parting => "from the parting face",
            Face::Back => "from behind",
        };
        match self.arm {
            Some(KeyArm::Short) | None if self.from == Face::Parting => {
                format!("{} mm key {from}", mm(self.width_mm))
            }
            Some(arm) => {
                format!("{} mm key {from}, {}, {} mm deep", mm(self.width_mm), arm.word(), mm(self.needed_mm))
            }
            None => format!("no {} mm key reaches {} mm deep", mm(self.width_mm), mm(self.needed_mm)),
        }
    }
}

impl Mount {
    /// How the feature is made, in one line.
    pub fn made(&self) -> String {
        match self.kind {
            FeatureKind::SetScrew { end: ScrewEnd::Socket, .. } => "As bought, socket up".to_owned(),
            FeatureKind::SetScrew { end, .. } => format!("As bought, turned over: {}", end.word()),
            FeatureKind::CapHead { thread, turned_mm, chamfer_mm } => {
                let bought_mm = hardware::cap_head_diameter_mm(thread);
                let turned = turned_mm.filter(|turned_mm| *turned_mm < bought_mm);
                let chamfer = (chamfer_mm > 0.0)
                    .then(|| format!("chamfer the rim of the underside {} × 45°", mm(chamfer_mm)));
                match (turned, chamfer) {
                    (None, None) => "As bought".to_owned(),
                    (Some(turned_mm), None) => format!("Turn the head down to Ø{}", mm(turned_mm)),
                    (None, Some(chamfer)) => format!("As bought; {chamfer}"),
                    (Some(turned_mm), Some(chamfer)) => {
                        format!("Turn the head down to Ø{}; {chamfer}", mm(turned_mm))
                    }
                }
            }
            FeatureKind::TurnedHead { head_diameter_mm, neck_diameter_mm, head_height_mm, underside_deg } => {
                format!(
                    "Turn head Ø{} × {} on a neck Ø{}, underside {}°",
                    mm(head_diameter_mm),
                    mm(head_height_mm),
                    mm(neck_diameter_mm),
                    mm(underside_deg)
                )
            }
            FeatureKind::PlainPost { diameter_mm } => {
                format!("Dowel or turned post Ø{}", mm(diameter_mm))
            }
            FeatureKind::RingedPost { diameter_mm, ring_depth_mm, ring_width_mm, land_mm, flank_deg } => {
                format!(
                    "Turn a ring {} deep, {} wide into a post Ø{}, {} below its top, upper flank {}°",
                    mm(ring_depth_mm),
                    mm(ring_width_mm),
                    mm(diameter_mm),
                    mm(land_mm),
                    mm(flank_deg)
                )
            }
        }
    }

    /// How it is kept in place, in words; says so where it cannot be.
    pub fn lock_words(&self) -> String {
        let locking = &self.locking;
        let post = if self.screw.is_some() { "" } else { "retaining compound that stands the mould's heat" };
        let way = match (locking.way, locking.back_screw) {
            (Lock::BackScrew, Some((thread, length_mm))) => format!(
                "a second {} {} × {} from behind",
                Stock::SetScrew(ScrewEnd::Socket).word(),
                thread.designation(),
                mm(length_mm)
            ),
            (Lock::Compound, _) if post.is_empty() => {
                Lock::Compound.word().to_owned() + " that stands the mould's heat"
            }
            (Lock::Compound, _) => post.to_owned(),
            (Lock::Loose, _) => "none; it may work loose".to_owned(),
            (way, _) => way.word().to_owned(),
        };
        match locking.problem {
            None => way,
            Some(LockProblem::NoRoom) => {
                format!("{way}, for which only {} mm of thread are left", mm(locking.room_mm))
            }
            Some(LockProblem::PressedScrew) => format!("{way}, which does not hold a screw"),
            Some(LockProblem::PostTooWide) => format!("{way}, for which the post is too wide"),
        }
    }
}
