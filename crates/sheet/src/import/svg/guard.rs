//! Looks at the text of an SVG file before it is taken apart: XML allows a small file to come to very much.

use super::super::ImportError;

/// Largest number of attributes of an element; comparing their names takes the square of it.
const MAX_ATTRIBUTES: usize = 200;
/// Largest number of declared name spaces; elements carry lists of them.
const MAX_NAME_SPACES: usize = 1000;
/// What the references to entities may come to, bytes.
const MAX_ENTITY_BYTES: usize = 16 << 20;

/// Refuses what would take too long or too much memory.
pub(super) fn check(text: &str) -> Result<(), ImportError> {
    let refused = |detail: &str| ImportError::NotSvg { detail: detail.to_owned() };
    let (mut entities, mut longest) = (0_usize, 0);
    // An element cannot hold a further "<", so that each has such a stretch of its own.
    for stretch in text.split('<') {
        if stretch.bytes().filter(|byte| *byte == b'=').count() > MAX_ATTRIBUTES {
            return Err(refused("an element has more than 200 attributes; save it as plain SVG"));
        }
        if stretch.starts_with("!ENTITY") {
            entities += 1;
            longest = longest.max(stretch.len());
            if stretch.contains('&') || !stretch.contains('>') {
                return Err(refused("it defines entities that hold markup; save it as plain SVG"));
            }
        }
    }
    if entities > 0 {
        let references = text.bytes().filter(|byte| *byte == b'&').count();
        if references.saturating_mul(longest) > MAX_ENTITY_BYTES || entities > MAX_ATTRIBUTES {
            return Err(refused("it refers to too many entities; save it as plain SVG"));
        }
    }
    if text.matches("xmlns").count() > MAX_NAME_SPACES {
        return Err(refused("it declares more than 1000 name spaces; save it as plain SVG"));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ordinary_files_pass_and_those_that_grow_do_not() {
        let ordinary = "<!DOCTYPE svg [<!ENTITY ns \"http://www.w3.org/2000/svg\">]><svg xmlns=\"&ns;\"/>";
        assert_eq!(check(ordinary), Ok(()));
        let nested = "<!DOCTYPE svg [<!ENTITY a \"aaaa\"><!ENTITY b \"&a;&a;\">]><svg>&b;</svg>";
        assert!(check(nested).is_err());
        let markup = "<!DOCTYPE svg [<!ENTITY a \"<g/>\">]><svg>&a;</svg>";
        assert!(check(markup).is_err());
        let long =
            format!("<!DOCTYPE svg [<!ENTITY a \"{}\">]><svg>{}</svg>", "a".repeat(9999), "&a;".repeat(9999));
        assert!(check(&long).is_err());
        let wide: String = (0..2000).map(|index| format!(" a{index}=\"\"")).collect();
        assert!(check(&format!("<svg{wide}/>")).is_err());
        // Under two hundred kilobytes that a parser would take most of a minute for.
        assert!(check(&"<g xmlns:a='b'/>".repeat(9000)).is_err());
    }
}
