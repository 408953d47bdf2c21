//! End-to-end tests, one subject a file.

mod absurd;
mod architecture;
mod bad_input;
mod clearances;
mod clearances_arcs;
mod cli;
mod cooling;
mod cycles;
mod drawings;
mod files;
mod filling;
mod hardware;
mod hold_formulas;
mod hold_law;
mod measured;
mod old_files;
mod opening;
mod paper_texts;
mod papers;
mod random_layouts;
mod report_paper;
mod sheet;
mod shop_list;
mod trade;
mod trial_card;
mod venting;
