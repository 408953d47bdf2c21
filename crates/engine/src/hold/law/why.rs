//! Which way governs, and why, as a sentence.

use crate::hold::law::Way;

/// "Shear governs at 94 N: …".
pub(super) fn why(ways: &[Way], governing: Option<usize>, is_measured: bool) -> String {
    let Some(way) = governing.map(|index| &ways[index]) else {
        return "There is nothing to hold: no plastic gets round or behind it.".to_owned();
    };
    let mut sentence = if is_measured {
        format!("The measured curve counts; by computation {} would govern at {}", way.name, newtons(way))
    } else {
        format!("{} governs at {}", capital(way.name), newtons(way))
    };
    let others = || ways.iter().enumerate().filter(|(index, other)| !other.adds && Some(*index) != governing);
    let locked = others().map(|(_, other)| other).find(|other| other.force_n.is_infinite());
    let next = others()
        .map(|(_, other)| other)
        .filter(|other| other.force_n.is_finite())
        .min_by(|a, b| a.force_n.total_cmp(&b.force_n));
    if let Some(locked) = locked {
        let of = |name: &str| locked.numbers.iter().find(|number| number.name == name);
        sentence += match (of("flank to the pull"), of("lock angle")) {
            (Some(flank), Some(lock)) => format!(
                ": the plastic cannot slide off, because the flank stands at {:.0}° to the pull, beyond the \
                 lock angle of {:.0}°",
                flank.value, lock.value
            ),
            _ => ": the plastic cannot slide off".to_owned(),
        }
        .as_str();
    }
    match next {
        Some(next) => {
            let joint = if locked.is_some() { ", and " } else { ": " };
            sentence += &format!("{joint}{} would take {}", next.name, newtons(next));
        }
        None if locked.is_none() => sentence += ": there is no undercut, and nothing else holds",
        None => {}
    }
    sentence.push('.');
    sentence
}

fn newtons(way: &Way) -> String {
    if way.force_n < 10.0 { format!("{:.1} N", way.force_n) } else { format!("{:.0} N", way.force_n) }
}

fn capital(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
