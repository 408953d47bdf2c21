//! The part as a structure: fibre sections, co-rotational elements, and the chain they form.

mod band;
mod chain;
mod element;
mod section;

pub(crate) use band::Band;
pub(crate) use chain::{Chain, DOF};
pub(crate) use element::PlaneElement;
pub(crate) use section::{ChannelShape, PlasticLaw, Section};
