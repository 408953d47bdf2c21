//! Arguments of `import`.

use std::ffi::OsString;
use std::path::PathBuf;

use keepside_sheet::import::{Choice, ReadAs};

use super::{ArgsError, begins_with_hyphen, option_and_value};

/// What to import, how, and where to.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Import {
    pub(crate) drawing: PathBuf,
    pub(crate) choice: Choice,
    pub(crate) out: PathBuf,
}

/// The arguments after the command; `None` if help is asked for.
pub(super) fn parse(args: &[OsString]) -> Result<Option<Import>, ArgsError> {
    let (mut drawings, mut out) = (Vec::new(), None);
    let (mut width_mm, mut depth_mm) = (None, None);
    let mut choice = Choice::default();
    let mut args = args.iter();
    while let Some(arg) = args.next() {
        let text = arg.to_string_lossy();
        let (option, given) = option_and_value(&text);
        let mut value = || given.clone().or_else(|| args.next().cloned()).unwrap_or_default();
        match option {
            "--help" | "-h" => return Ok(None),
            "--width" => width_mm = Some(number("--width", &value())?),
            "--depth" => depth_mm = Some(number("--depth", &value())?),
            "--scale" => choice.scale = number("--scale", &value())?,
            "--layer" => choice.layers.push(value().to_string_lossy().into_owned()),
            "--out" => out = Some(value()),
            "--as" => choice.read_as = read_as(&value())?,
            "--" => drawings.extend(args.by_ref().cloned()),
            _ if begins_with_hyphen(arg) => return Err(ArgsError::NoSuchOption(arg.clone())),
            _ => drawings.push(arg.clone()),
        }
    }
    let mut drawings = drawings.into_iter();
    let drawing = drawings.next().ok_or(ArgsError::NoDrawing)?.into();
    if let Some(more) = drawings.next() {
        return Err(ArgsError::TooMany(more));
    }
    choice.depth_mm = depth_mm.ok_or(ArgsError::NoNumber("--depth", String::new()))?;
    if choice.read_as == ReadAs::CentreLines {
        choice.width_mm = width_mm.ok_or(ArgsError::NoNumber("--width", String::new()))?;
    }
    let out = out.filter(|out| !out.is_empty()).ok_or(ArgsError::NoNewFile)?.into();
    Ok(Some(Import { drawing, choice, out }))
}

fn number(option: &'static str, text: &OsString) -> Result<f64, ArgsError> {
    let text = text.to_string_lossy();
    text.replace(',', ".")
        .trim()
        .parse()
        .map_err(|_unreadable| ArgsError::NoNumber(option, text.into_owned()))
}

fn read_as(text: &OsString) -> Result<ReadAs, ArgsError> {
    match text.to_str() {
        Some("centre-lines") => Ok(ReadAs::CentreLines),
        Some("outlines") => Ok(ReadAs::Outlines),
        _ => Err(ArgsError::NoSuchReading(text.clone())),
    }
}
