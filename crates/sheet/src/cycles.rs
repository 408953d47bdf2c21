//! Drill cycles of one plate, after ISO 6983: drill by drill, from the parting face.
//!
//! Words after ISO 6983-1 (from memory): G17 G21 G54 G80 G81 G83 G90 G94 G98, M0 M3 M5 M6 M30. Between holes
//! the drill is at the safe height. What the hole table marks CHECK is left out and named. Comments are
//! ASCII capitals, as the oldest controls ask.

use std::fmt::Write as _;

use glam::DVec2;
use keepside_model::{Datum, DrillCycles, Half, Project};

use crate::SheetError;
use crate::drawing::is_to_check;
use crate::holes::{Depth, HoleRow, hole_table, length};
use crate::order::drilling_order;

/// Height of the point of a drill of 118°, in diameters: ½ / tan 59°.
const POINT: f64 = 0.300_430_309_5;
/// How far a drill goes on beyond the back of the plate, its point included, mm: common practice, no source.
const BEYOND_MM: f64 = 1.0;
/// Holes deeper than this many diameters are drilled in pecks: common practice, no source.
const PECKS_FROM_DIAMETERS: f64 = 3.0;
/// Longest comment, characters.
const COMMENT: usize = 68;

/// One hole to be drilled.
struct Hole {
    tag: String,
    /// From the datum, on the face, mm.
    at: DVec2,
    drill_mm: f64,
    /// Height of the tip at the bottom, mm; negative.
    bottom_mm: f64,
}

/// The file of one plate.
///
/// # Errors
///
/// [`SheetError::Cycles`] if they are not wanted, or the heights do not go together.
pub(crate) fn cycles(project: &Project, half: Half) -> Result<Vec<u8>, SheetError> {
    let choices = &project.sheet.drill_cycles;
    let refused = |detail: String| Err(SheetError::Cycles { detail });
    if !choices.wanted {
        return refused(
            "they are off in this project; choose them with their heights and speeds first".to_owned(),
        );
    }
    if choices.retract_mm > choices.safe_height_mm {
        return refused(format!(
            "drilling is to begin {} mm above the face, but the safe height is {} mm; raise the safe height",
            length(choices.retract_mm),
            length(choices.safe_height_mm)
        ));
    }
    let (holes, left_out): (Vec<HoleRow>, Vec<HoleRow>) =
        hole_table(project, half).into_iter().partition(|row| !is_to_check(row));
    let thickness_mm = project.plates.thickness_mm(half);
    // In the order of the printed chart.
    let holes: Vec<Hole> = drilling_order(&holes)
        .into_iter()
        .filter_map(|index| {
            let row = holes.get(index)?;
            let drill_mm = row.drill_mm?;
            let at = row.from_datum_mm;
            let full_mm = match row.depth {
                Depth::Through => thickness_mm + BEYOND_MM,
                Depth::Blind { depth_mm } => depth_mm,
            };
            Some(Hole { tag: row.tag.clone(), at, drill_mm, bottom_mm: -(full_mm + POINT * drill_mm) })
        })
        .collect();

    let mut program = Program { text: "%\r\n".to_owned() };
    program.heading(project, half, &holes);
    for row in &left_out {
        program.comment(&format!("LEFT OUT: {}, MARKED CHECK IN THE HOLE TABLE", row.tag));
    }
    if holes.is_empty() {
        program.comment("THERE IS NOTHING TO DRILL IN THIS PLATE");
    }
    program.line("G21 G17 G90 G94 G80");
    program.line("G54");
    program.line("M0");
    for (index, group) in holes.chunk_by(|a, b| a.drill_mm == b.drill_mm).enumerate() {
        program.drill(index + 1, group, choices);
    }
    program.line("G80");
    program.line(&format!("G0 Z{}", number(choices.safe_height_mm)));
    program.line("M5");
    program.line("M30");
    program.text += "%\r\n";
    Ok(program.text.into_bytes())
}

/// Where the zero of x and y lies, in words.
fn zero(project: &Project) -> String {
    if let Some((id, _)) = project.datum_pin() {
        return format!("THE CENTRE OF GUIDE PIN {}", project.tag(id));
    }
    match project.sheet.datum {
        Datum::Centre => "THE CENTRE OF THE PLATE".to_owned(),
        Datum::LowerLeft | Datum::GuidePin(_) => "THE LOWER LEFT CORNER AS IT LIES".to_owned(),
    }
}

struct Program {
    text: String,
}

impl Program {
    fn line(&mut self, words: &str) {
        // Writing to a string cannot fail.
        _ = write!(self.text, "{words}\r\n");
    }

    /// A comment, over several lines if it is long.
    fn comment(&mut self, text: &str) {
        let mut line = String::new();
        for word in plain(text).split_whitespace() {
            let word: String = word.chars().take(COMMENT).collect();
            if !line.is_empty() && line.len() + 1 + word.len() > COMMENT {
                self.line(&format!("({line})"));
                line.clear();
            }
            if !line.is_empty() {
                line.push(' ');
            }
            line += &word;
        }
        self.line(&format!("({line})"));
    }

    fn heading(&mut self, project: &Project, half: Half, holes: &[Hole]) {
        let plates = &project.plates;
        let choices = &project.sheet.drill_cycles;
        let deepest_mm = holes.iter().map(|hole| hole.bottom_mm).fold(0.0, f64::min);
        let thickness_mm = plates.thickness_mm(half);
        self.comment(&format!("{}: {} HALF, DRILLED FROM ITS PARTING FACE", project.name, half.word()));
        self.comment(&format!(
            "PLATE {} X {} X {} MM. ALL LENGTHS IN MM",
            length(plates.width_mm),
            length(plates.height_mm),
            length(thickness_mm)
        ));
        // Each a line of its own: none is longer than a control shows.
        self.comment("CAUTION: THIS MOVES A MACHINE");
        self.comment("THE MACHINE'S MANUAL AND LOCAL RULES DECIDE");
        self.comment("THE CONTROL'S OWN DIALECT DECIDES WHAT G81 G83 G98 M0 M6 DO");
        self.comment("COMPARE ITS MANUAL. BEFORE THE FIRST HOLE:");
        self.comment("1 PARTING FACE UP, X TO THE RIGHT, Y AWAY FROM YOU");
        if half == Half::Fixed {
            self.comment("THE FIXED HALF SEEN SO IS THE MIRROR IMAGE OF THE MOVING HALF");
        }
        self.comment(&format!("2 G54, ZERO OF X AND Y: {}", zero(project)));
        self.comment("3 ZERO OF Z: THE PARTING FACE. SET THE LENGTH OF EVERY DRILL TO IT");
        self.comment(&format!(
            "4 CLAMPS BELOW {} MM ABOVE THE FACE, CLEAR OF ALL HOLES",
            length(choices.safe_height_mm)
        ));
        if deepest_mm < -thickness_mm {
            let beyond_mm = length(-deepest_mm - thickness_mm);
            self.comment(&format!("5 A BOARD UNDER IT: DRILLS GO {beyond_mm} MM BELOW ITS BACK"));
        }
        self.comment("DRY RUN: FIRST RUN ALL OF IT ABOVE THE WORK, BLOCK BY BLOCK");
        self.comment(&format!(
            "WITH Z ZERO SET MORE THAN {} MM HIGHER, HAND ON THE STOP",
            length(-deepest_mm)
        ));
        self.comment("EYE PROTECTION, NO GLOVES, HANDS OUT WHILE IT RUNS");
        self.comment("TAPPING, REAMING, WORK FROM BEHIND: SEE THE DRILLING SHEET");
        self.comment("BOLTS AND GUIDE PINS OF BOTH PLATES MUST LINE UP: SEE THERE");
        if choices.feed_mm_min.is_none() {
            self.comment("CHECK: NO FEED IS CHOSEN. SET F AT THE MACHINE FIRST");
        }
        if choices.spindle_rpm.is_none() {
            self.comment("CHECK: NO SPEED IS CHOSEN. START THE SPINDLE AT EVERY STOP");
        }
    }

    /// All holes of one drill, from the stop to change it.
    fn drill(&mut self, tool: usize, holes: &[Hole], choices: &DrillCycles) {
        let Some(first) = holes.first() else { return };
        let (drill, safe) = (length(first.drill_mm), number(choices.safe_height_mm));
        self.line("G80");
        self.line("M5");
        self.line(&format!("G0 Z{safe}"));
        self.comment(&format!("STOP: PUT IN DRILL {drill} MM, {} HOLES. SET ITS LENGTH", holes.len()));
        self.line("M0");
        self.line(&format!("T{tool} M6"));
        match choices.spindle_rpm {
            Some(rpm) => self.line(&format!("S{rpm:.0} M3")),
            None => {
                self.comment("STOP: START THE SPINDLE AT THE SPEED FOR THIS DRILL, THEN GO ON");
                self.line("M0");
            }
        }
        self.line(&format!("G0 Z{safe}"));
        let feed = choices.feed_mm_min.map_or_else(String::new, |feed| format!(" F{}", number(feed)));
        for hole in holes {
            let Hole { tag, at, drill_mm, bottom_mm } = hole;
            let (x, y) = (number(at.x), number(at.y));
            self.comment(tag);
            self.line(&format!("G0 X{x} Y{y}"));
            let (z, r) = (number(*bottom_mm), number(choices.retract_mm));
            let cycle = if -bottom_mm > PECKS_FROM_DIAMETERS * drill_mm {
                format!("G98 G83 X{x} Y{y} Z{z} R{r} Q{}{feed}", number(choices.peck_mm))
            } else {
                format!("G98 G81 X{x} Y{y} Z{z} R{r}{feed}")
            };
            self.line(&cycle);
            self.line("G80");
        }
    }
}

/// A number with three decimals and a point, never "-0.000".
fn number(value: f64) -> String {
    let text = format!("{value:.3}");
    if text == "-0.000" { "0.000".to_owned() } else { text }
}

/// Capitals, digits and few signs: no bracket may stand within a comment.
fn plain(text: &str) -> String {
    let plain = text.chars().map(|character| match character.to_ascii_uppercase() {
        '(' => '/',
        ')' => '/',
        kept @ (' '..='$' | '&'..='_') => kept,
        _ => '?',
    });
    plain.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_hold_nothing_that_a_control_would_run() {
        assert_eq!(plain("Größe (a) %\nG0 X0"), "GR??E /A/ ??G0 X0");
        let mut program = Program { text: String::new() };
        program.comment(&"word ".repeat(40));
        assert!(program.text.lines().count() > 1);
        assert!(program.text.lines().all(|line| line.len() <= COMMENT + 2 && line.ends_with(')')));
    }

    #[test]
    fn they_are_off_unless_chosen_and_heights_must_go_together() {
        let mut project = Project::blank();
        let off = cycles(&project, Half::Moving).unwrap_err().to_string();
        assert!(off.contains("off in this project"), "{off}");
        project.sheet.drill_cycles.wanted = true;
        assert!(cycles(&project, Half::Moving).is_ok());
        project.sheet.drill_cycles.safe_height_mm = 1.0;
        let low = cycles(&project, Half::Moving).unwrap_err().to_string();
        assert!(low.contains("begin 2.0 mm above the face, but the safe height is 1.0 mm"), "{low}");
    }
}
