//! What comes late is felt in its place all the same.

use conduct::FeltPulse;

/// What of the pulses is still to be felt so long after the wish. One that has begun is felt for its rest.
pub(crate) fn still_to_feel(pulses: &[FeltPulse], late_ms: u32) -> Vec<FeltPulse> {
    pulses
        .iter()
        .filter_map(|pulse| {
            let end = pulse.in_ms.saturating_add(pulse.len_ms);
            let from = pulse.in_ms.max(late_ms);
            let len_ms = end.saturating_sub(from);
            (len_ms > 0).then_some(FeltPulse {
                in_ms: from.saturating_sub(late_ms),
                len_ms,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn pulse(in_ms: u32, len_ms: u32) -> FeltPulse {
        FeltPulse { in_ms, len_ms }
    }

    #[test]
    fn pulses_keep_their_moment_when_the_motor_starts_late() {
        let wished = [pulse(0, 60), pulse(545, 60), pulse(1091, 700)];
        assert_eq!(still_to_feel(&wished, 0), wished);
        assert_eq!(
            still_to_feel(&wished, 20),
            [pulse(0, 40), pulse(525, 60), pulse(1071, 700)]
        );
        assert_eq!(
            still_to_feel(&wished, 60),
            [pulse(485, 60), pulse(1031, 700)],
            "one that is just over is not felt"
        );
        assert_eq!(still_to_feel(&wished, 1300), [pulse(0, 491)]);
        assert_eq!(still_to_feel(&wished, 1791), []);
        assert_eq!(
            still_to_feel(&[pulse(u32::MAX, 60)], 5),
            [],
            "past the end of time"
        );
    }
}
