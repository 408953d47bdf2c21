//! A small reader of PDF pages, written from the file format alone: what is drawn where, in mm.
//!
//! It reads what a plain writer makes: a classic cross-reference table, one content stream a page,
//! composite fonts with a `ToUnicode` map. It is no general reader; what it does not know it panics on,
//! so that a test cannot pass over something unread.

#![expect(clippy::unwrap_used, reason = "a test helper: a file it cannot read is a failed test")]

use std::collections::BTreeMap;
use std::io::Read as _;

use glam::{DAffine2, DVec2};

/// Millimetres in a PDF point: ISO 32000-1, 8.3.2.3, one point is 1/72 inch.
const MM_PER_POINT: f64 = 25.4 / 72.0;

/// What a page shows; places in mm from the paper's lower left corner, y up.
#[derive(Clone, Debug, Default)]
pub struct PdfPage {
    /// Size of the paper, mm.
    pub size_mm: DVec2,
    /// Paths that are stroked or filled, in drawing order.
    pub paths: Vec<PdfPath>,
    /// Texts, in drawing order.
    pub texts: Vec<PdfText>,
}

/// A path that is stroked or filled.
#[derive(Clone, Debug)]
pub struct PdfPath {
    /// Its pieces.
    pub pieces: Vec<PdfPiece>,
    /// Width of the stroke, mm; `None` if the path is only filled.
    pub stroke_mm: Option<f64>,
    /// Whether the stroke is dashed.
    pub dashed: bool,
}

/// An unbroken piece of a path.
#[derive(Clone, Debug)]
pub struct PdfPiece {
    /// Its start and the ends of its lines and curves, mm.
    pub nodes: Vec<DVec2>,
    /// How many of its steps are curves.
    pub curves: usize,
    /// Whether it returns to its start.
    pub closed: bool,
}

/// A piece of text.
#[derive(Clone, Debug)]
pub struct PdfText {
    /// Left end of the baseline, mm.
    pub at: DVec2,
    /// Right end of the baseline, mm.
    pub end: DVec2,
    /// Size of the letters' em square, mm.
    pub size_mm: f64,
    /// The characters.
    pub text: String,
}

impl PdfPage {
    /// Full circles: centre, diameter and whether dashed.
    pub fn circles(&self) -> Vec<(DVec2, f64, bool)> {
        let round = |path: &PdfPath| {
            let [piece] = path.pieces.as_slice() else { return None };
            let (low, high) = piece.bounds();
            let size = high - low;
            let is_round = piece.curves == 4 && piece.closed && (size.x - size.y).abs() < 1e-3;
            is_round.then(|| (low.midpoint(high), size.x, path.dashed))
        };
        self.paths.iter().filter_map(round).collect()
    }

    /// Single straight strokes: both ends.
    pub fn lines(&self) -> Vec<(DVec2, DVec2)> {
        let straight = |path: &PdfPath| match path.pieces.as_slice() {
            [piece] if path.stroke_mm.is_some() && piece.curves == 0 && !piece.closed => {
                if let [from, to] = piece.nodes[..] { Some((from, to)) } else { None }
            }
            _ => None,
        };
        self.paths.iter().filter_map(straight).collect()
    }

    /// Stroked upright rectangles: lower left and upper right corner, stroke width.
    pub fn rectangles(&self) -> Vec<(DVec2, DVec2, f64)> {
        let boxed = |path: &PdfPath| match path.pieces.as_slice() {
            [piece] if piece.curves == 0 && piece.closed && piece.nodes.len() == 4 => {
                let (low, high) = piece.bounds();
                path.stroke_mm.map(|width_mm| (low, high, width_mm))
            }
            _ => None,
        };
        self.paths.iter().filter_map(boxed).collect()
    }

    /// The boxes about all texts, with the texts: from a little under the baseline to the height of capitals.
    pub fn text_boxes(&self) -> Vec<(DVec2, DVec2, &str)> {
        let boxed = |text: &'_ PdfText| {
            let (low, high) = (text.at.min(text.end), text.at.max(text.end));
            let (under, over) = (0.2 * text.size_mm, 0.7 * text.size_mm);
            // One that reads upwards stands to the left of its baseline.
            if text.at.x == text.end.x {
                (low - DVec2::new(over, 0.0), high + DVec2::new(under, 0.0))
            } else {
                (low - DVec2::new(0.0, under), high + DVec2::new(0.0, over))
            }
        };
        self.texts
            .iter()
            .map(|text| (boxed(text), text))
            .map(|((low, high), t)| (low, high, &*t.text))
            .collect()
    }

    /// Fails if a text leaves the frame, 20 mm for filing on the left and 10 mm else, or covers another.
    /// Single letters may stand on the frame's border: the grid references.
    #[track_caller]
    pub fn assert_clear(&self) {
        let boxes = self.text_boxes();
        for (index, (low, high, text)) in boxes.iter().enumerate() {
            let margin_mm =
                if text.chars().count() == 1 { DVec2::splat(5.0) } else { DVec2::new(20.0, 10.0) };
            let far_mm = margin_mm.min(DVec2::splat(10.0));
            let inside = low.cmpge(margin_mm).all() && high.cmple(self.size_mm - far_mm).all();
            assert!(inside, "{text:?} from {low} to {high} on {}", self.size_mm);
            for (other_low, other_high, other) in &boxes[index + 1..] {
                let common = high.min(*other_high) - low.max(*other_low);
                assert!(common.min_element() <= 0.0, "{text:?} covers {other:?} by {common}");
            }
        }
    }

    /// All texts in one string, a line each.
    pub fn words(&self) -> String {
        self.texts.iter().map(|text| text.text.as_str()).collect::<Vec<_>>().join("\n")
    }
}

impl PdfPiece {
    /// Lower left and upper right corner about the nodes, mm.
    pub fn bounds(&self) -> (DVec2, DVec2) {
        let low = self.nodes.iter().copied().reduce(DVec2::min).unwrap();
        (low, self.nodes.iter().copied().reduce(DVec2::max).unwrap())
    }
}

/// Reads every page of a PDF, in order.
pub fn read_pdf(bytes: &[u8]) -> Vec<PdfPage> {
    let file = File::open(bytes);
    let root = file.object(reference(&file.trailer, "/Root"));
    let pages = file.object(reference(root, "/Pages"));
    let kids = pages.split("/Kids[").nth(1).unwrap().split(']').next().unwrap();
    let numbers: Vec<usize> = kids.split(" 0 R").filter_map(|number| number.trim().parse().ok()).collect();
    numbers.into_iter().map(|number| file.page(number)).collect()
}

/// The objects of a file.
struct File<'a> {
    bytes: &'a [u8],
    offsets: Vec<usize>,
    trailer: String,
}

/// The number of the object that `key` in a dictionary refers to.
fn reference(dictionary: &str, key: &str) -> usize {
    let after = dictionary.split(&format!("{key} ")).nth(1).unwrap_or_else(|| panic!("no {key}"));
    after.split(|c: char| !c.is_ascii_digit()).next().unwrap().parse().unwrap()
}

/// The numbers of an array that follows `key`.
fn array(dictionary: &str, key: &str) -> Vec<f64> {
    let after = dictionary.split(&format!("{key}[")).nth(1).unwrap_or_else(|| panic!("no {key}"));
    after.split(']').next().unwrap().split_whitespace().map(|number| number.parse().unwrap()).collect()
}

impl<'a> File<'a> {
    fn open(bytes: &'a [u8]) -> Self {
        let text = String::from_utf8_lossy(bytes);
        assert!(text.starts_with("%PDF-1."), "not a PDF");
        let start: usize =
            text.rsplit("startxref").next().unwrap().split_whitespace().next().unwrap().parse().unwrap();
        let table = String::from_utf8_lossy(&bytes[start..]);
        let mut lines = table.lines();
        assert_eq!(lines.next(), Some("xref"));
        let count: usize = lines.next().unwrap().split_whitespace().nth(1).unwrap().parse().unwrap();
        let offset = |line: &str| line.split_whitespace().next().unwrap().parse().unwrap();
        let offsets = lines.by_ref().take(count).map(offset).collect();
        Self { bytes, offsets, trailer: lines.collect::<Vec<_>>().join(" ") }
    }

    fn at(&self, number: usize) -> &'a [u8] {
        &self.bytes[self.offsets[number]..]
    }

    /// The dictionary of an object, as text.
    fn object(&self, number: usize) -> &'a str {
        let bytes = self.at(number);
        let end = ["endobj", "stream"].map(|word| find(bytes, word.as_bytes())).into_iter().flatten().min();
        std::str::from_utf8(&bytes[..end.unwrap()]).unwrap()
    }

    /// The unpacked stream of an object.
    fn stream(&self, number: usize) -> Vec<u8> {
        let dictionary = self.object(number);
        let length = reference(dictionary, "/Length");
        let bytes = self.at(number);
        let start = find(bytes, b"stream").unwrap() + b"stream\n".len();
        let raw = &bytes[start..start + length];
        assert!(dictionary.contains("/FlateDecode"), "only deflated streams are known");
        let mut unpacked = Vec::new();
        flate2::read::ZlibDecoder::new(raw).read_to_end(&mut unpacked).unwrap();
        unpacked
    }

    fn page(&self, number: usize) -> PdfPage {
        let page = self.object(number);
        let media = array(page, "/MediaBox");
        let resources = self.object(reference(page, "/Resources"));
        let font = resources.contains("/Font").then(|| self.font(reference(resources, "/f0")));
        let size_mm = DVec2::new(media[2] - media[0], media[3] - media[1]) * MM_PER_POINT;
        let mut content = Content { font, ..Content::new(size_mm) };
        content.run(&self.stream(reference(page, "/Contents")));
        content.page
    }

    fn font(&self, number: usize) -> FontMap {
        let font = self.object(number);
        let inner = self.object(
            font.split("/DescendantFonts[").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap(),
        );
        assert!(inner.contains("/DW 0"), "another default width is not known");
        // ISO 32000-1, 9.7.4.3: here always in the form "first last width".
        let widths = array(inner, "/W");
        let each =
            widths.chunks_exact(3).flat_map(|w| (w[0] as u16..=w[1] as u16).map(move |glyph| (glyph, w[2])));
        let map = String::from_utf8(self.stream(reference(font, "/ToUnicode"))).unwrap();
        let mut characters = BTreeMap::new();
        for block in map.split("beginbfchar").skip(1) {
            for line in block.split("endbfchar").next().unwrap().lines().filter(|line| line.contains('<')) {
                let hex: Vec<&str> = line.split(['<', '>']).filter(|part| !part.trim().is_empty()).collect();
                let units: Vec<u16> = hex[1]
                    .as_bytes()
                    .chunks(4)
                    .map(|unit| u16::from_str_radix(std::str::from_utf8(unit).unwrap(), 16).unwrap())
                    .collect();
                characters
                    .insert(u16::from_str_radix(hex[0], 16).unwrap(), String::from_utf16(&units).unwrap());
            }
        }
        assert!(!map.contains("beginbfrange"), "ranges are not known");
        FontMap { widths: each.collect(), characters }
    }
}

fn find(bytes: &[u8], word: &[u8]) -> Option<usize> {
    bytes.windows(word.len()).position(|window| window == word)
}

/// Widths in thousandths of the em square, and what each glyph stands for.
struct FontMap {
    widths: BTreeMap<u16, f64>,
    characters: BTreeMap<u16, String>,
}

/// The graphics state that is saved and restored.
#[derive(Clone)]
struct State {
    mm_from_user: DAffine2,
    width: f64,
    dashed: bool,
}

/// Runs a content stream.
struct Content {
    page: PdfPage,
    state: State,
    saved: Vec<State>,
    pieces: Vec<PdfPiece>,
    font: Option<FontMap>,
    size: f64,
    text_matrix: DAffine2,
    /// The text that stands for what is shown until the end of the marked content, not yet taken.
    actual: Option<String>,
    /// The text object that is open: its pieces are one text.
    text: Option<PdfText>,
}

/// What stands between two operators.
enum Operand {
    Number(f64),
    Text(Vec<u8>),
    /// A name, or a bracket of an array or dictionary: none matters here.
    Other,
}

impl Content {
    fn new(size_mm: DVec2) -> Self {
        let mm_from_user = DAffine2::from_scale(DVec2::splat(MM_PER_POINT));
        Self {
            page: PdfPage { size_mm, ..PdfPage::default() },
            state: State { mm_from_user, width: 1.0, dashed: false },
            saved: Vec::new(),
            pieces: Vec::new(),
            font: None,
            size: 0.0,
            text_matrix: DAffine2::IDENTITY,
            actual: None,
            text: None,
        }
    }

    fn run(&mut self, stream: &[u8]) {
        let mut operands = Vec::new();
        let mut i = 0;
        while i < stream.len() {
            match stream[i] {
                b if b.is_ascii_whitespace() => i += 1,
                b'<' | b'>' if stream.get(i + 1) == Some(&stream[i]) => {
                    operands.push(Operand::Other);
                    i += 2;
                }
                b'[' | b']' => {
                    operands.push(Operand::Other);
                    i += 1;
                }
                b'(' => operands.push(Operand::Text(literal(stream, &mut i))),
                b'<' => {
                    let end = i + find(&stream[i..], b">").unwrap();
                    let hex = std::str::from_utf8(&stream[i + 1..end]).unwrap();
                    let byte =
                        |pair: &[u8]| u8::from_str_radix(std::str::from_utf8(pair).unwrap(), 16).unwrap();
                    operands.push(Operand::Text(hex.as_bytes().chunks(2).map(byte).collect()));
                    i = end + 1;
                }
                _ => {
                    let end = stream[i + 1..]
                        .iter()
                        .position(|b| b.is_ascii_whitespace() || b"[]()<>/".contains(b))
                        .map_or(stream.len(), |length| i + 1 + length);
                    let word = std::str::from_utf8(&stream[i..end]).unwrap();
                    i = end;
                    if let Ok(number) = word.parse() {
                        operands.push(Operand::Number(number));
                    } else if word.starts_with('/') {
                        operands.push(Operand::Other);
                    } else {
                        self.operator(word, &operands);
                        operands.clear();
                    }
                }
            }
        }
    }

    /// Obeys one operator: ISO 32000-1, annex A.
    fn operator(&mut self, name: &str, operands: &[Operand]) {
        let numbers: Vec<f64> = operands
            .iter()
            .filter_map(|o| if let Operand::Number(n) = o { Some(*n) } else { None })
            .collect();
        let user = |x: usize| DVec2::new(numbers[x], numbers[x + 1]);
        let matrix = || DAffine2::from_cols_array(&numbers[..6].try_into().unwrap());
        let to_mm = self.state.mm_from_user;
        match name {
            "q" => self.saved.push(self.state.clone()),
            "Q" => self.state = self.saved.pop().unwrap(),
            "cm" => self.state.mm_from_user = to_mm * matrix(),
            "w" => self.state.width = numbers[0],
            "d" => self.state.dashed = numbers.len() > 1,
            "m" => {
                let nodes = vec![to_mm.transform_point2(user(0))];
                self.pieces.push(PdfPiece { nodes, curves: 0, closed: false });
            }
            "l" => self.pieces.last_mut().unwrap().nodes.push(to_mm.transform_point2(user(0))),
            "c" => {
                let piece = self.pieces.last_mut().unwrap();
                piece.nodes.push(to_mm.transform_point2(user(4)));
                piece.curves += 1;
            }
            "h" => self.pieces.last_mut().unwrap().closed = true,
            "S" => self.paint(true),
            "f" | "f*" => self.paint(false),
            "B" | "B*" => self.paint(true),
            "n" => self.pieces.clear(),
            "Tf" => self.size = numbers[0],
            "Tm" => self.text_matrix = matrix(),
            "Tj" | "TJ" => self.show(operands),
            "ET" => self.page.texts.extend(self.text.take()),
            // ISO 32000-1, 14.9.4: a glyph that stands for other characters than its map says.
            "BDC" => self.actual = operands.iter().find_map(actual_text),
            "EMC" => self.actual = None,
            "BT" | "W" | "W*" | "G" | "g" | "J" | "j" | "M" | "Tr" | "gs" | "cs" | "CS" | "scn" | "SCN"
            | "BMC" => {}
            _ => panic!("operator {name} is not known"),
        }
    }

    fn paint(&mut self, stroked: bool) {
        let scale = self.state.mm_from_user.matrix2.determinant().abs().sqrt();
        self.page.paths.push(PdfPath {
            pieces: std::mem::take(&mut self.pieces),
            stroke_mm: stroked.then_some(self.state.width * scale),
            dashed: self.state.dashed,
        });
    }

    fn show(&mut self, operands: &[Operand]) {
        let font = self.font.as_ref().expect("text without a font");
        let (mut text, mut advance) = (String::new(), 0.0);
        for operand in operands {
            match operand {
                Operand::Text(bytes) => {
                    for pair in bytes.chunks(2) {
                        let glyph = u16::from_be_bytes([pair[0], pair[1]]);
                        if self.actual.is_none() {
                            text += font.characters.get(&glyph).map_or("\u{fffd}", String::as_str);
                        }
                        // What the table leaves out has the default width, which is 0 here.
                        advance += font.widths.get(&glyph).unwrap_or(&0.0) / 1000.0 * self.size;
                    }
                }
                Operand::Number(back) if operands.len() > 1 => advance -= back / 1000.0 * self.size,
                _ => {}
            }
        }
        let to_mm = self.state.mm_from_user * self.text_matrix;
        let at = to_mm.transform_point2(DVec2::ZERO);
        let size_mm = to_mm.transform_vector2(DVec2::new(0.0, self.size)).length();
        let end = to_mm.transform_point2(DVec2::new(advance, 0.0));
        // What is shown next in the same marked content adds no other characters.
        let text = self.actual.as_mut().map_or(text, std::mem::take);
        if let Some(before) = &mut self.text {
            before.text += &text;
            before.end = end;
        } else {
            self.text = Some(PdfText { at, end, size_mm, text });
        }
    }
}

/// The characters of a text string: UTF-16 with its mark of byte order, else ASCII here.
fn actual_text(operand: &Operand) -> Option<String> {
    let Operand::Text(bytes) = operand else { return None };
    if !bytes.starts_with(&[0xfe, 0xff]) {
        assert!(bytes.is_ascii(), "other text strings are not known");
        return Some(String::from_utf8(bytes.clone()).unwrap());
    }
    let units: Vec<u16> = bytes[2..].chunks(2).map(|pair| u16::from_be_bytes([pair[0], pair[1]])).collect();
    Some(String::from_utf16(&units).unwrap())
}

/// A literal string from its opening bracket at `*i`, which is moved past the closing one.
fn literal(stream: &[u8], i: &mut usize) -> Vec<u8> {
    let (mut bytes, mut depth) = (Vec::new(), 0);
    loop {
        let byte = stream[*i];
        *i += 1;
        match byte {
            b'(' if depth == 0 => depth = 1,
            b'(' => {
                depth += 1;
                bytes.push(byte);
            }
            b')' if depth == 1 => return bytes,
            b')' => {
                depth -= 1;
                bytes.push(byte);
            }
            b'\\' => {
                let digits = stream[*i..].iter().take(3).take_while(|b| (b'0'..=b'7').contains(b)).count();
                if digits > 0 {
                    let octal = std::str::from_utf8(&stream[*i..*i + digits]).unwrap();
                    bytes.push((u16::from_str_radix(octal, 8).unwrap() & 0xff) as u8);
                    *i += digits;
                } else {
                    bytes.push(match stream[*i] {
                        b'n' => b'\n',
                        b'r' => b'\r',
                        b't' => b'\t',
                        b'b' => 8,
                        b'f' => 12,
                        other => other,
                    });
                    *i += 1;
                }
            }
            other => bytes.push(other),
        }
    }
}
