//! What the program does not know: told to whoever judges a layout by its report.

use crate::document::Flow;

/// One sentence each.
const UNKNOWN: [&str; 11] = [
    "The opening takes the part as full and as warm all through as its hottest place, whatever filling and cooling \
     tell.",
    "Filling leaves out what the air resists, inertia and elasticity of the melt; cooling leaves out the heat of \
     melting, the gap that opens round a part that shrinks, and steel that warms up from shot to shot.",
    "Air that leaks out between the faces of the plates is not counted.",
    "The scatter from shot to shot is not computed: every number is that of one opening with the inputs above.",
    "Tack, drag and how far a thread fills cannot be looked up. They are assumed until trial shots or a measured \
     curve replace them.",
    "A sprue does not turn in its bore while it is drawn out of it.",
    "A feature that stands in the part does not weaken the section in the bending: bumps right at a pin come out \
     a little small. Tearing beside a pin is a limit of its hold instead.",
    "Torsion neither warps the section nor helps bending to make it yield.",
    "There is no play between the part and the channel's walls.",
    "A feature beside the centre line of a single straight run twists nothing.",
    "Runs that overlap side by side without an end or a crossing are not joined.",
];

pub(super) fn write(flow: &mut Flow<'_>) {
    flow.heading("What the program does not know");
    UNKNOWN.iter().for_each(|words| flow.item(words));
    flow.space(3.0);
    flow.words(&format!("Made with Keepside {}.", env!("CARGO_PKG_VERSION")));
}
