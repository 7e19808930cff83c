//! The screen's colours by the light around the phone.
//!
//! Glare begins where dark ground would lose its words. A glass front sends back some 4.5 % of the light that
//! falls on it (4 % by Fresnel's formula at an index of 1.5, the rest for what lies under it: from memory), so
//! `E` lux lay a veil of `0.045 * E / pi` cd/m2 over dark and light alike. On a screen of 600 cd/m2 the words of
//! the day colours keep 7:1 up to a veil of 85 cd/m2: 5 900 lux. It is left at half of where it began.
//! Night ends where a room is lit at all: streets have 2 to 50 lux, a patient's compartment some 300, an office
//! 500, an overcast day 1 000 and more, the sun up to 100 000 (from memory; common practice, no source for the
//! two bounds).

use cycle::Colours;

/// From here on the ground is bright.
pub(crate) const GLARE_FROM_LUX: u32 = 5000;
/// Below this it is dark again.
pub(crate) const GLARE_TO_LUX: u32 = 2500;
/// Below this the screen is dimmed.
pub(crate) const NIGHT_FROM_LUX: u32 = 5;
/// From here on it is dimmed no longer.
pub(crate) const NIGHT_TO_LUX: u32 = 15;

/// A brighter light must have lasted so long: a torch that passes turns nothing. Common practice, no source.
pub(crate) const BRIGHTER_MS: u64 = 2000;
/// A darker one so long: a hand over the sensor, a bridge over the road. Common practice, no source.
pub(crate) const DARKER_MS: u64 = 5000;

/// The colours for a light, where `now` is on the screen: between two bounds it stays as it is.
#[must_use]
pub(crate) const fn colours_in(now: Colours, lux: u32) -> Colours {
    let glare = match now {
        Colours::Glare => GLARE_TO_LUX,
        Colours::Day | Colours::Night => GLARE_FROM_LUX,
    };
    let night = match now {
        Colours::Night => NIGHT_TO_LUX,
        Colours::Day | Colours::Glare => NIGHT_FROM_LUX,
    };
    if lux >= glare {
        Colours::Glare
    } else if lux < night {
        Colours::Night
    } else {
        Colours::Day
    }
}

/// The light as it was told, and what it has made of the screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Eye {
    colours: Colours,
    /// Other colours that the light asks for, and since when, ms.
    other: Option<(Colours, u64)>,
}

impl Default for Eye {
    fn default() -> Self {
        Self {
            colours: Colours::Day,
            other: None,
        }
    }
}

impl Eye {
    /// Takes a reading.
    #[must_use]
    pub(crate) fn seeing(self, lux: u32, at_ms: u64) -> Self {
        let now = self.at(at_ms);
        let wanted = colours_in(now.colours, lux);
        let other = match now.other {
            _ if wanted == now.colours => None,
            Some((known, since)) if known == wanted => Some((known, since)),
            Some(_) | None => Some((wanted, at_ms)),
        };
        Self { other, ..now }
    }

    /// How it is at a moment, if no other reading came meanwhile.
    #[must_use]
    pub(crate) fn at(self, at_ms: u64) -> Self {
        let Some((wanted, since)) = self.other else {
            return self;
        };
        let wait = if brightness_of(wanted) > brightness_of(self.colours) {
            BRIGHTER_MS
        } else {
            DARKER_MS
        };
        if at_ms.saturating_sub(since) < wait {
            return self;
        }
        // At other colours the same light may ask for yet others: it is left at one change.
        Self {
            colours: wanted,
            other: None,
        }
    }

    pub(crate) const fn colours(self) -> Colours {
        self.colours
    }
}

const fn brightness_of(colours: Colours) -> u8 {
    match colours {
        Colours::Night => 0,
        Colours::Day => 1,
        Colours::Glare => 2,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(readings: &[(u64, u32)], at_ms: u64) -> Colours {
        let eye = readings
            .iter()
            .fold(Eye::default(), |eye, (at, lux)| eye.seeing(*lux, *at));
        eye.at(at_ms).colours()
    }

    /// WCAG's contrast of two luminances under a veil, on a screen of 600 cd/m2; computed here from the tokens
    /// of the day colours: #f5f2ea on #0e1216, relative luminances 0.8886 and 0.0058.
    fn contrast_at(lux: u32) -> f64 {
        let veil = 0.045 * f64::from(lux) / std::f64::consts::PI;
        let (words, ground) = (0.8886 * 600.0 + veil, 0.0058 * 600.0 + veil);
        words / ground
    }

    #[test]
    fn the_ground_turns_bright_before_the_words_of_the_dark_one_fall_below_seven_to_one() {
        assert!(contrast_at(GLARE_FROM_LUX) >= 7.0);
        assert!(contrast_at(6000) < 7.0);
    }

    #[test]
    fn each_light_has_its_colours_whatever_was_on_the_screen() {
        for now in Colours::ALL {
            assert_eq!(colours_in(*now, 0), Colours::Night);
            assert_eq!(colours_in(*now, 300), Colours::Day);
            assert_eq!(colours_in(*now, 1000), Colours::Day);
            assert_eq!(colours_in(*now, 20_000), Colours::Glare);
        }
    }

    #[test]
    fn between_two_bounds_it_stays() {
        assert_eq!(colours_in(Colours::Day, 10), Colours::Day);
        assert_eq!(colours_in(Colours::Night, 10), Colours::Night);
        assert_eq!(colours_in(Colours::Day, 4999), Colours::Day);
        assert_eq!(colours_in(Colours::Glare, 2500), Colours::Glare);
        assert_eq!(colours_in(Colours::Glare, 2499), Colours::Day);
        assert_eq!(colours_in(Colours::Night, 15), Colours::Day);
        assert_eq!(colours_in(Colours::Day, 4), Colours::Night);
    }

    #[test]
    fn a_light_that_lasts_turns_the_screen_and_one_that_passes_does_not() {
        let sun = [(0, 300), (10_000, 40_000)];
        assert_eq!(after(&sun, 11_999), Colours::Day);
        assert_eq!(after(&sun, 12_000), Colours::Glare);
        let torch = [(0, 300), (10_000, 40_000), (11_500, 300)];
        assert_eq!(after(&torch, 60_000), Colours::Day);
        let hand = [(0, 300), (10_000, 0), (14_000, 300)];
        assert_eq!(after(&hand, 60_000), Colours::Day);
        let dark = [(0, 300), (10_000, 0)];
        assert_eq!(after(&dark, 14_999), Colours::Day);
        assert_eq!(after(&dark, 15_000), Colours::Night);
        // Brighter and brighter is one change, dated to its first moment.
        let dawn = [(0, 300), (10_000, 6000), (11_000, 30_000)];
        assert_eq!(after(&dawn, 12_000), Colours::Glare);
    }

    /// However the light flickers, the whole screen turns not more often than each two seconds: a page that
    /// turns is a flash of its whole area.
    #[test]
    fn the_screen_does_not_flicker() {
        let mut state = 20_261_129_u64;
        let mut random = |below: u64| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            (state >> 33) % below
        };
        let (mut eye, mut at) = (Eye::default(), 0_u64);
        let (mut seen, mut turned) = (Colours::Day, Vec::new());
        for _ in 0..20_000 {
            let lux = [0, 10, 300, 3000, 40_000][usize::try_from(random(5)).unwrap()];
            eye = eye.seeing(lux, at);
            // Looked at each tenth of a second, as often as the conductor ever wakes for it.
            for _ in 0..random(100) {
                at += 100;
                eye = eye.at(at);
                if eye.colours() != seen {
                    seen = eye.colours();
                    turned.push(at);
                }
            }
        }
        assert!(turned.len() > 1000, "{} turns", turned.len());
        let shortest = turned.windows(2).map(|pair| pair[1] - pair[0]).min();
        assert!(shortest >= Some(2000), "{shortest:?} ms");
    }
}
