//! How the screen looks in a run. The app tells it: it bears on what the crew could see, and says nothing of care.

use serde::{Deserialize, Serialize};

use crate::mark::closed;

closed! {
    /// The colours of the screen.
    Colours { #[doc = "Light on dark."] Day = "day", #[doc = "Dark on light, for sun."] Glare = "glare", #[doc = "Dimmed."] Night = "night" }
}

/// How the screen looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Look {
    /// Its colours.
    pub colours: Colours,
    /// The light around the phone decides them; else the crew did.
    pub by_light: bool,
    /// It is dark and takes no touch but the one that wakes it: the phone is carried.
    pub covered: bool,
}

/// As on a phone that has told of no light.
impl Default for Look {
    fn default() -> Self {
        Self {
            colours: Colours::Day,
            by_light: true,
            covered: false,
        }
    }
}
