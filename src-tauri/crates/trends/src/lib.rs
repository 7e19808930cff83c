//! Many runs over time: which copy of a record counts, what each run came to, medians with quartiles, run charts
//! by published rules, and the report.
//!
//! Every rule stands in `docs/trends.md` with its source. Drills are never among runs, and no figure is of records
//! of two versions of the measures' definitions. No clock and no file.
#![forbid(unsafe_code)]

mod figures;
mod group;
mod html;
mod measure;
mod report;
mod rules;
mod seen;
mod sift;
mod spread;
mod tables;

pub use figures::{By, Figure, Point, Share, SharePoint, Trust};
pub use group::{Group, groups};
pub use html::html;
pub use measure::{Measure, SHARES, ShareOf, VALUES, Yardstick};
pub use report::{Sifted, report};
pub use rules::{FEW, PChart, RunChart, crossings_limit, longest_limit, p_chart, run_chart};
pub use seen::{Drill, Seen};
pub use sift::{Copied, Gone, LeftOut, Like, Missing, Weight, Why, like, why_left_out};
pub use spread::{Spread, spread};
pub use tables::{NAMES, figures_table, tables};

#[cfg(test)]
mod tests;
