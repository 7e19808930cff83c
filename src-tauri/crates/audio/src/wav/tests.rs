use std::io::{Cursor, SeekFrom};

use beat::{Pattern, Placed, Rate, Score};
use conduct::Levels;
use cycle::{Prompt, Tone};

use super::*;

fn ratio(anchor: u64) -> Placed {
    Placed {
        score: Score {
            rate: Rate::new(110).unwrap(),
            pattern: Pattern::Ratio {
                beats: 30,
                window_ms: 4000,
                breaths: 2,
            },
            quiet_ddb: 0,
        },
        anchor_ms: anchor,
        lead: 0,
        from_ms: anchor,
        breath_from_ms: anchor,
    }
}

fn cue(id: u32, sound: CueSound, start: Start) -> Cue {
    let len_ms = 0;
    Cue {
        id: CueId(id),
        sound,
        start,
        len_ms,
    }
}

/// Plays a score and two cues; gives the sounds, the news and the file.
fn played() -> (Vec<Sounded>, Vec<SoundNews>, Vec<u8>) {
    let mut bytes = Cursor::new(Vec::new());
    let mut outlet = WavOutlet::new(&mut bytes, &Pack::built_in()).unwrap();
    let mut news = Vec::new();
    outlet.order(Ms(0), Order::Levels(Levels::default()));
    outlet.order(Ms(3), Order::Score(ratio(28)));
    let tone = CueSound::Tone(Tone::Receipt);
    let voice = CueSound::Voice(Prompt::Off10);
    outlet.order(Ms(1000), Order::Play(cue(1, tone, Start::Now)));
    outlet.order(Ms(1000), Order::Play(cue(2, voice, Start::At(Ms(2000)))));
    outlet.order(Ms(1000), Order::Play(cue(3, voice, Start::At(Ms(9000)))));
    outlet.order(Ms(1001), Order::Revoke(CueId(3)));
    outlet.order(Ms(3000), Order::Play(cue(4, voice, Start::At(Ms(2900)))));
    for ms in (0..=21_000).step_by(100) {
        while let Some(n) = outlet.news(Ms(ms)) {
            news.push(n);
        }
    }
    let sounds = outlet.finish(Ms(21_000)).unwrap();
    (sounds, news, bytes.into_inner())
}

/// Source: arithmetic: the anchor is frame 28 * 48 = 1344; beat n of 110 a minute lies
/// floor(n * 60 * 48000 / 110) frames after it, a cycle of 30 with its window 977,454 frames.
#[test]
fn every_sound_is_listed_with_its_exact_frame() {
    let (sounds, _, _) = played();
    let of = |wanted: Kind| -> Vec<u64> {
        let found = sounds.iter().filter(|s| s.what == SoundedAs::Score(wanted));
        found.map(|s| s.at_frame).collect()
    };
    let exact = |n: u64| 1344 + n * 60 * 48_000 / 110;
    assert_eq!(of(Kind::BeatFirst), [exact(0), 1344 + 977_454]);
    assert_eq!(of(Kind::BeatLast), [exact(29)]);
    // Of the second cycle, its second beat still falls into the 21 s.
    let second = 1344 + (31 * 60 * 48_000 + 4 * 48_000 * 110) / 110;
    let beats: Vec<u64> = (1..29).map(exact).chain([second]).collect();
    assert_eq!(of(Kind::Beat), beats);
    assert_eq!(of(Kind::Breath), [exact(30), exact(30) + 96_000]);
    assert!(sounds.is_sorted_by_key(|s| s.at_frame));
}

#[test]
fn cues_begin_on_their_frames_and_are_told() {
    let (sounds, news, _) = played();
    let cues: Vec<(u32, u64)> = sounds
        .iter()
        .filter_map(|s| match s.what {
            SoundedAs::Cue(id, _) => Some((id.0, s.at_frame)),
            SoundedAs::Score(_) => None,
        })
        .collect();
    assert_eq!(cues, [(1, 48_000), (2, 96_000)]);
    let started = |id, at| SoundNews::Started {
        id: CueId(id),
        at: Ms(at),
    };
    assert_eq!(
        news,
        [
            started(1, 1000),
            started(2, 2000),
            SoundNews::Late { id: CueId(4) }
        ]
    );
}

#[test]
fn the_file_holds_the_beat_sample_for_sample_on_its_frame() {
    let (_, _, bytes) = played();
    let reader = hound::WavReader::new(&bytes[..]).unwrap();
    assert_eq!(reader.spec().sample_rate, 48_000);
    let samples: Vec<i16> = reader.into_samples::<i16>().map(Result::unwrap).collect();
    assert_eq!(samples.len(), 21_000 * 48);
    let pack = Pack::built_in();
    let beat = &pack.clips()[1].samples;
    // Beat 1, away from every voice.
    let at = 1344 + 60 * 48_000 / 110;
    assert_eq!(samples[at..at + beat.len()], beat[..]);
    assert!(
        samples[at + beat.len()..at + 20_000]
            .iter()
            .all(|s| *s == 0)
    );
}

#[test]
fn the_beats_are_counted_once_a_minute() {
    let mut outlet = WavOutlet::new(Cursor::new(Vec::new()), &Pack::built_in()).unwrap();
    let mut placed = ratio(0);
    placed.score.pattern = Pattern::Continuous { breath_ms: 0 };
    outlet.order(Ms(0), Order::Score(placed));
    let count = std::iter::from_fn(|| outlet.news(Ms(60_000))).last();
    // The beat on the frame of the minute itself has not been rendered yet.
    assert_eq!(
        count,
        Some(SoundNews::Count {
            beats: 110,
            frames: 2_880_000,
            underruns: 0
        })
    );
}

/// A disk that is full after some bytes.
struct Full(Cursor<Vec<u8>>);

impl Write for Full {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        if self.0.get_ref().len() > 10_000 {
            return Err(std::io::ErrorKind::StorageFull.into());
        }
        self.0.write(bytes)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

impl Seek for Full {
    fn seek(&mut self, to: SeekFrom) -> std::io::Result<u64> {
        self.0.seek(to)
    }
}

#[test]
fn a_full_disk_is_told_at_the_end() {
    let outlet = WavOutlet::new(Full(Cursor::new(Vec::new())), &Pack::built_in()).unwrap();
    let error = outlet.finish(Ms(5000)).unwrap_err();
    assert!(matches!(error, WavError::Write(_)), "{error}");
}

#[test]
fn a_place_that_cannot_be_written_is_told_at_the_beginning() {
    let path = Path::new("/nowhere/at/all.wav");
    let error = WavOutlet::create(path, &Pack::built_in()).unwrap_err();
    assert!(
        error
            .to_string()
            .starts_with("the WAV file cannot be written")
    );
}

/// Source: arithmetic: two even distributions one step wide have a variance of 1/12 each.
#[test]
fn dither_is_triangular_and_hangs_on_the_place_alone() {
    let all: Vec<f64> = (0..200_000).map(|n| f64::from(dither(n))).collect();
    let n = 200_000.0;
    let mean = all.iter().sum::<f64>() / n;
    let variance = all.iter().map(|d| d * d).sum::<f64>() / n;
    assert!(mean.abs() < 0.004, "{mean}");
    assert!((variance - 1.0 / 6.0).abs() < 0.002, "{variance}");
    assert!(all.iter().all(|d| d.abs() < 1.0));
    // Half of a triangle's values lie within 1 - sqrt(1/2) of its middle.
    let near = all.iter().filter(|d| d.abs() < 0.292_893).count();
    assert!(near.abs_diff(100_000) < 1000, "{near}");
    let next: f64 = all.windows(2).map(|w| w[0] * w[1]).sum::<f64>() / n;
    assert!(next.abs() < 0.002, "each of its own: {next}");
    assert!((dither(77) - dither(77)).abs() < f32::EPSILON);
}

/// Source: Lipshitz, Wannamaker and Vanderkooy 1992: with triangular dither mean and variance of the error
/// are the same for every sample: 0 and a quarter of a step squared.
#[test]
fn what_lies_between_two_steps_is_kept_in_the_mean() {
    for tenths in [1_u8, 3, 5, 8] {
        let steps = f64::from(tenths) / 10.0 + 100.0;
        let sample = (f32::from(tenths) / 10.0 + 100.0) / 32_768.0;
        let n = 100_000;
        let errors: Vec<f64> = (0..n)
            .map(|place| f64::from(pcm(sample, place)) - steps)
            .collect();
        let n = 100_000.0;
        let mean = errors.iter().sum::<f64>() / n;
        let variance = errors.iter().map(|e| e * e).sum::<f64>() / n;
        assert!(mean.abs() < 0.01, "{tenths}: {mean}");
        assert!((variance - 0.25).abs() < 0.01, "{tenths}: {variance}");
    }
}

#[test]
fn a_whole_step_is_kept_as_it_is_and_the_ends_hold() {
    for (place, step) in (i16::MIN..=i16::MAX).enumerate() {
        let place = u64::try_from(place).unwrap();
        assert_eq!(pcm(f32::from(step) / 32_768.0, place), step);
    }
    assert_eq!((pcm(2.0, 1), pcm(-2.0, 2)), (i16::MAX, i16::MIN));
}

#[test]
fn two_files_of_one_run_are_the_same_to_the_byte() {
    assert!(played().2 == played().2);
}

#[test]
fn an_outline_has_the_ends_of_each_piece() {
    let path = std::env::temp_dir().join(format!("outline-{}.wav", std::process::id()));
    let spec = WavSpec {
        channels: 1,
        sample_rate: 48_000,
        bits_per_sample: 16,
        sample_format: SampleFormat::Int,
    };
    let mut writer = WavWriter::create(&path, spec).unwrap();
    for sample in [3_i16, -5, 7, 0, 0, 0, -9] {
        writer.write_sample(sample).unwrap();
    }
    writer.finalize().unwrap();
    let found = outline(&path, 3);
    std::fs::remove_file(&path).unwrap();
    assert_eq!(found.unwrap(), [(-5, 7), (0, 0), (-9, -9)]);
    assert!(matches!(outline(&path, 3), Err(WavError::Read(_))));
}
