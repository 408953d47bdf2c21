//! Drawings with something broken in them: whatever a file holds, reading it ends, soon, with runs or a message.
//!
//! Two thousand in every test run. `KEEPSIDE_DRAWINGS=1000000` asks for more, `KEEPSIDE_FIRST_DRAWING` for
//! others. Each is made of one of our own exports or of a drawing by another program's library, by a few
//! changes that follow from its number alone.

use std::path::Path;
use std::time::{Duration, Instant};

use keepside_model::{EndShape, Project};
use keepside_sheet::import::{self, Choice, ImportError, Imported, ReadAs};
use keepside_sheet::{Output, export};

/// Draws numbers from a seed (`SplitMix64`).
struct Draw(u64);

impl Draw {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, count: usize) -> usize {
        (self.next() % count.max(1) as u64) as usize
    }
}

/// What is put in place of a number or word.
const WORDS: [&str; 34] = [
    "",
    "0",
    "-1",
    "1",
    "1e9",
    "-1e300",
    "1e-300",
    "nan",
    "inf",
    "99999999999999999999",
    "0.5",
    "\u{feff}",
    "INSERT",
    "SPLINE",
    "LWPOLYLINE",
    "ENDBLK",
    "SECTION",
    "EOF",
    "POLYLINE",
    "ELLIPSE",
    "70",
    "210",
    "42",
    "\\U+",
    "<g>",
    "<use href=\"#part\"/>",
    "</g>",
    "&amp;",
    "url(#a)",
    "scale(1e99)",
    "matrix(1 2 3)",
    "A0 0 0 0 0 1e9 1",
    "C",
    "%",
];

/// A file with a few things changed.
fn broken(draw: &mut Draw, files: &[(bool, Vec<u8>)]) -> (bool, Vec<u8>) {
    let (is_svg, mut bytes) = files[draw.below(files.len())].clone();
    for _ in 0..=draw.below(3) {
        let at = draw.below(bytes.len());
        match draw.below(10) {
            0 => bytes.truncate(at),
            1 => {
                if let Some(byte) = bytes.get_mut(at) {
                    *byte = draw.next() as u8;
                }
            }
            // A stretch away, twice, or elsewhere.
            2..=4 => {
                let end = (at + 1 + draw.below(200)).min(bytes.len());
                let stretch: Vec<u8> = bytes.get(at..end).unwrap_or_default().to_vec();
                let times = draw.below(4);
                if times == 0 {
                    bytes.drain(at..end);
                } else {
                    let to = draw.below(bytes.len() + 1);
                    for _ in 0..times {
                        bytes.splice(to..to, stretch.iter().copied());
                    }
                }
            }
            // A word for another: words end at spaces, quotes, line ends and commas.
            5..=8 => {
                let ends = |byte: &u8| b" \"\n\r,".contains(byte);
                let start = bytes[..at].iter().rposition(ends).map_or(0, |place| place + 1);
                let end = bytes[at..].iter().position(ends).map_or(bytes.len(), |place| at + place);
                let word = WORDS[draw.below(WORDS.len())];
                bytes.splice(start..end, word.bytes());
            }
            // A piece of another file.
            _ => {
                let other = &files[draw.below(files.len())].1;
                let from = draw.below(other.len());
                let end = (from + draw.below(400)).min(other.len());
                bytes.splice(at..at, other[from..end].iter().copied());
            }
        }
        if bytes.is_empty() {
            break;
        }
    }
    (is_svg, bytes)
}

/// Good files of every kind there is.
fn files() -> Vec<(bool, Vec<u8>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/oracle/drawings");
    let mut files = Vec::new();
    for name in ["ezdxf-r12.dxf", "ezdxf-r2000.dxf", "ezdxf-r2018.dxf", "svgwrite.svg"] {
        files
            .push((name.ends_with("svg"), std::fs::read(folder.join(name)).expect("the drawings are there")));
    }
    let mut bent = Project::blank();
    let run = bent.part.runs.values_mut().next().expect("a blank project has a run");
    run.points[0].bulge = 0.4;
    run.end = EndShape::Square;
    for project in [Project::blank(), bent] {
        for output in [Output::Dxf, Output::Svg] {
            let made = export(&project, &[output], None).expect("they are exported");
            files.extend(made.into_iter().map(|file| (output == Output::Svg, file.bytes)));
        }
    }
    files
}

/// Reads it and makes runs of it both ways; every number that comes out is one.
fn read(is_svg: bool, bytes: &[u8]) -> Result<Imported, ImportError> {
    let read = if is_svg { import::svg(bytes) } else { import::dxf(bytes) }?;
    assert!(!read.chains.is_empty());
    for chain in &read.chains {
        assert!(chain.points.len() >= 2, "{chain:?}");
        assert!(
            chain.points.iter().all(|p| p.at.is_finite() && (-1.0..=1.0).contains(&p.bulge)),
            "{chain:?}"
        );
    }
    for read_as in [ReadAs::CentreLines, ReadAs::Outlines] {
        let choice = Choice { read_as, ..Choice::default() };
        let made = read.runs(&choice).expect("the choice is good");
        let mut project = Project::blank();
        project.part.runs = (1..).map(keepside_model::Id).zip(made.runs).collect();
        project.check().expect("runs are within the permitted ranges");
    }
    Ok(read)
}

#[test]
fn broken_drawings_end_in_runs_or_a_message() {
    let from_env = |name: &str, default: u64| {
        std::env::var(name).ok().and_then(|value| value.parse().ok()).unwrap_or(default)
    };
    let (first, count) = (from_env("KEEPSIDE_FIRST_DRAWING", 0), from_env("KEEPSIDE_DRAWINGS", 2000));
    let files = files();
    for (is_svg, bytes) in &files {
        read(*is_svg, bytes).expect("the files are good before they are broken");
    }
    let (mut good, mut longest) = (0_u64, (Duration::ZERO, 0));
    for number in first..first + count {
        let (is_svg, bytes) = broken(&mut Draw(number), &files);
        let start = Instant::now();
        // A panic names the number.
        let ended = std::panic::catch_unwind(|| read(is_svg, &bytes));
        let read = ended.unwrap_or_else(|_| panic!("drawing {number} panicked"));
        longest = longest.max((start.elapsed(), number));
        if let Err(error) = &read {
            assert!(!error.to_string().is_empty());
        }
        good += u64::from(read.is_ok());
        if (number - first) % 100_000 == 99_999 {
            println!("{} read, {good} of them good, longest {longest:?}", number - first + 1);
        }
    }
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let memory = status.lines().find(|line| line.starts_with("VmHWM")).unwrap_or("VmHWM not known");
    println!("{count} broken drawings: {good} still read, longest {longest:?}, {memory}");
    // Generous: the machine may be doing other work.
    assert!(longest.0 < Duration::from_secs(20), "drawing {} took {:?}", longest.1, longest.0);
    assert!(
        good > count / 20,
        "only {good} of {count} are still read: the breaking is too coarse to go deep"
    );
}
