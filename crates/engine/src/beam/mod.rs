//! The part as a structure: fibre sections, co-rotational elements, and what they form: a chain in a
//! plane or a network in space.

mod band;
mod blocks;
mod chain;
mod element;
mod form;
mod section;
mod space;
mod space_element;
mod space_form;

pub(crate) use band::NotPositiveDefinite;
pub(crate) use chain::{Chain, DOF};
pub(crate) use element::PlaneElement;
pub(crate) use form::{Beams, Matrix, SpotForce};
#[cfg(test)]
pub(crate) use section::Section;
pub(crate) use section::{ChannelShape, PlasticLaw, Sections, WallContact};
pub(crate) use space::Space;
pub(crate) use space_element::SpaceElement;

/// Places of the two Gauss sections on 0..1.
pub(crate) const GAUSS_2: [f64; 2] = [0.211_324_865_405_187_1, 0.788_675_134_594_812_9];

/// sin a / a and (1 − cos a)/a² of a squared angle.
#[inline]
fn sinc(square: f64) -> (f64, f64) {
    if square < 1e-4 {
        // The next terms are below 1e-13.
        (1.0 - square / 6.0 * (1.0 - square / 20.0), 0.5 - square / 24.0 * (1.0 - square / 30.0))
    } else {
        let angle = square.sqrt();
        (angle.sin() / angle, (1.0 - angle.cos()) / square)
    }
}
