//! Noise under everything: it changes no sound of a score and no report, and goes round without a gap.

use super::*;

/// A noise of a thousand frames, each with a size of its own.
struct WithNoise(TestClips, Vec<i16>);

impl WithNoise {
    fn new() -> Self {
        Self(TestClips::new(), (1..=1000).collect())
    }
}

impl Clips for WithNoise {
    fn samples(&self, clip: ClipId) -> &[i16] {
        if clip == ClipId::NOISE {
            &self.1
        } else {
            self.0.samples(clip)
        }
    }
}

/// A second of a mixer's output; `noise` is on for its middle half.
fn rendered(score: bool, noise: bool, beat_ddb: u16) -> (Vec<f32>, Vec<Report>) {
    let clips = WithNoise::new();
    let mut mixer = Mixer::new(HZ, Some(Timeline::IDENTITY));
    let mut seen = Seen::default();
    let gains = Gains {
        beat_ddb,
        ..Gains::default()
    };
    mixer.take(Message::Levels(gains), &mut seen);
    if score {
        let placed = placed(UNBROKEN);
        mixer.take(Message::Score { placed, given: 0 }, &mut seen);
    }
    let mut out = Vec::new();
    for part in 0..4 {
        mixer.take(Message::Noise(noise && (1..3).contains(&part)), &mut seen);
        let mut block = vec![0.0; 12_000];
        mixer.render(&clips, &mut block, &mut seen);
        out.extend(block);
    }
    (out, seen.0)
}

/// It rises from frame 12,000 on for 50 ms, 2,400 frames, from the clip's first frame; on frame `f` then stands
/// 1 + (f - 12,000) mod 1,000, of 32,768.
#[test]
fn noise_goes_round_and_is_nobody_s_report() {
    let (out, reports) = rendered(false, true, 0);
    assert_eq!(reports, []);
    let at = |f: usize| out[f + Mixer::DELAY] * 32_768.0;
    assert!(out[..12_000 + Mixer::DELAY].iter().all(|s| *s == 0.0));
    for f in [14_500, 14_999, 15_000, 15_001, 20_000, 35_000] {
        let wanted = f32::from(u16::try_from(1 + (f - 12_000) % 1000).unwrap());
        assert!((at(f) - wanted).abs() < 0.01, "{f}: {} for {wanted}", at(f));
    }
    // Half risen after half of its edge: 200 of the clip's frames on, a fifth of the way through it.
    assert!((at(13_200) - 201.0 * 0.5).abs() < 1.0, "{}", at(13_200));
    // It falls from frame 36,000 on.
    assert!(
        at(36_500) > 0.0
            && out[36_000 + 2500 + Mixer::DELAY..]
                .iter()
                .all(|s| *s == 0.0)
    );
}

#[test]
fn a_score_sounds_under_noise_as_without_it() {
    let (with, reports) = rendered(true, true, 0);
    let (without, same) = rendered(true, false, 0);
    assert_eq!(reports, same);
    assert!(same.len() >= 2, "two beats of a second at 110 a minute");
    let (noise, _) = rendered(false, true, 0);
    for (f, ((both, alone), noise)) in with.iter().zip(&without).zip(&noise).enumerate() {
        assert!((both - alone - noise).abs() < 1e-6, "frame {f}");
    }
}

#[test]
fn noise_is_as_loud_as_the_beat_is_set() {
    let (full, _) = rendered(false, true, 0);
    let (half, _) = rendered(false, true, 60);
    let (none, _) = rendered(false, true, 960);
    let f = 20_500 + Mixer::DELAY;
    assert!(
        (half[f] / full[f] - 0.501).abs() < 0.001,
        "6 dB down: {}",
        half[f] / full[f]
    );
    assert!(none.iter().all(|s| *s == 0.0));
}
