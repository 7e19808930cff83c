use std::path::PathBuf;

mod fuzz;

use super::*;
use crate::bank::Bank;
use render::Clips as _;

/// A folder of its own with copies of the built-in files; gone when dropped.
pub(super) struct Copy(PathBuf);

impl Copy {
    pub(super) fn new(name: &str) -> Self {
        let dir = std::env::temp_dir().join(format!("clips-{}-{name}", std::process::id()));
        for (sub, files) in [("tones", embedded::TONES), ("voice", embedded::VOICES[0].2)] {
            fs::create_dir_all(dir.join(sub)).unwrap();
            for (file, bytes) in files {
                fs::write(dir.join(sub).join(file), bytes).unwrap();
            }
        }
        Self(dir)
    }

    fn load(&self) -> Pack {
        Pack::from_folders(&self.0.join("tones"), &self.0.join("voice"))
    }

    pub(super) fn path(&self, file: &str) -> PathBuf {
        self.0.join(file)
    }

    /// Writes other bytes and lists their hash.
    pub(super) fn replace(&self, file: &str, bytes: &[u8]) {
        let path = self.path(file);
        let before = hex(&Sha256::digest(fs::read(&path).unwrap()));
        fs::write(&path, bytes).unwrap();
        let manifest = path.with_file_name("manifest.json");
        let text = fs::read_to_string(&manifest).unwrap();
        let text = text.replace(&before, &hex(&Sha256::digest(bytes)));
        fs::write(manifest, text).unwrap();
    }
}

impl Drop for Copy {
    fn drop(&mut self) {
        fs::remove_dir_all(&self.0).unwrap_or_default();
    }
}

pub(super) fn wav(spec: hound::WavSpec, samples: usize) -> Vec<u8> {
    let mut bytes = io::Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
    for _ in 0..samples {
        writer.write_sample(100_i16).unwrap();
    }
    writer.finalize().unwrap();
    bytes.into_inner()
}

pub(super) const SPEC: hound::WavSpec = hound::WavSpec {
    channels: 1,
    sample_rate: 24_000,
    bits_per_sample: 16,
    sample_format: hound::SampleFormat::Int,
};

fn only_fault(pack: &Pack) -> &ClipFault {
    assert_eq!(pack.faults().len(), 1, "{:?}", pack.faults());
    &pack.faults()[0]
}

#[test]
fn what_the_program_brings_along_is_whole() {
    let pack = Pack::built_in();
    assert_eq!(pack.faults(), []);
    let expected = SCORE.len() + Tone::ALL.len() + Prompt::ALL.len();
    assert_eq!(pack.clips().len(), expected);
    assert!(
        pack.clips()
            .iter()
            .all(|c| c.samples.iter().any(|s| *s != 0))
    );
}

#[test]
fn every_voice_inside_is_whole_and_one_that_is_missing_is_said_to_be_another() {
    for lang in Pack::voices() {
        let pack = Pack::speaking(lang);
        assert_eq!((pack.id(), pack.faults()), (lang, &[][..]));
    }
    let first = Pack::built_in();
    assert_eq!(first.id(), "en-US");
    let other = Pack::speaking("xx");
    assert_eq!((other.id(), other.hash()), (first.id(), first.hash()));
    assert_eq!(Pack::voice_of("en-US-x-else"), "en-US");
}

#[test]
fn folders_give_what_is_built_in() {
    let pack = Copy::new("same").load();
    assert_eq!(pack.faults(), []);
    assert_eq!(pack.hash(), Pack::built_in().hash());
    assert_eq!(pack.lengths(), Pack::built_in().lengths());
}

#[test]
fn a_missing_clip_is_told_and_the_attention_tone_stands_for_it() {
    let copy = Copy::new("missing");
    fs::remove_file(copy.path("voice/off10.wav")).unwrap();
    let pack = copy.load();
    let fault = only_fault(&pack);
    assert_eq!(fault.id, "off10");
    assert!(matches!(fault.wrong, Wrong::Read(_)));
    let text = fault.to_string();
    assert!(
        text.contains("off10.wav") && text.contains("install"),
        "{text}"
    );
    let clip = |sound| &pack.clips()[usize::from(clip_of(sound).0)].samples;
    assert_eq!(
        clip(CueSound::Voice(Prompt::Off10)),
        clip(CueSound::Tone(Tone::Attention))
    );
    assert_eq!(pack.lengths().ms(Prompt::Off10), 300);
}

#[test]
fn a_changed_byte_is_told_with_both_hashes() {
    let copy = Copy::new("changed");
    let path = copy.path("voice/undo.wav");
    let mut bytes = fs::read(&path).unwrap();
    bytes[1000] ^= 1;
    fs::write(&path, &bytes).unwrap();
    let pack = copy.load();
    let Wrong::Hash { found, listed } = &only_fault(&pack).wrong else {
        panic!("{:?}", pack.faults());
    };
    assert_ne!(found, listed);
    assert_eq!(found.len(), 64);
}

#[test]
fn files_that_are_not_what_they_should_be_are_told_apart() {
    let cases: [(&str, Vec<u8>, Wrong); 4] = [
        (
            "stereo",
            wav(
                hound::WavSpec {
                    channels: 2,
                    ..SPEC
                },
                100,
            ),
            Wrong::Format {
                channels: 2,
                bits: 16,
                hz: 24_000,
            },
        ),
        (
            "rate",
            wav(
                hound::WavSpec {
                    sample_rate: 4000,
                    ..SPEC
                },
                100,
            ),
            Wrong::Format {
                channels: 1,
                bits: 16,
                hz: 4000,
            },
        ),
        ("empty", wav(SPEC, 0), Wrong::Length { samples: 0 }),
        (
            "long",
            wav(SPEC, 24_000 * 60 + 1),
            Wrong::Length {
                samples: 24_000 * 60 + 1,
            },
        ),
    ];
    for (name, bytes, wrong) in cases {
        let copy = Copy::new(name);
        copy.replace("voice/cup_now.wav", &bytes);
        assert_eq!(only_fault(&copy.load()).wrong, wrong, "{name}");
    }
    let whole = wav(SPEC, 1000);
    for (name, bytes) in [
        ("cut", &whole[..whole.len() - 501]),
        ("text", b"not a sound"),
    ] {
        let copy = Copy::new(name);
        copy.replace("voice/cup_now.wav", bytes);
        let pack = copy.load();
        let fault = only_fault(&pack);
        assert!(matches!(fault.wrong, Wrong::NotWav(_)), "{name}: {fault}");
    }
}

/// A file may say that four thousand million samples follow.
#[test]
fn a_header_that_promises_too_much_is_not_believed() {
    let copy = Copy::new("promises");
    let mut bytes = wav(SPEC, 1000);
    let size = bytes.len() - 2000;
    assert_eq!(bytes[size - 4..size], 2000_u32.to_le_bytes());
    bytes[size - 4..size].copy_from_slice(&0xFFFF_FFFE_u32.to_le_bytes());
    copy.replace("voice/cup_now.wav", &bytes);
    let samples = 0x7FFF_FFFF;
    assert_eq!(only_fault(&copy.load()).wrong, Wrong::Length { samples });
}

#[test]
fn a_file_larger_than_any_clip_is_not_read_to_its_end() {
    let copy = Copy::new("large");
    let file = fs::File::options()
        .write(true)
        .open(copy.path("voice/cup_now.wav"))
        .unwrap();
    // A file of holes: nothing of it lies on the disk.
    file.set_len(1 << 40).unwrap();
    let pack = copy.load();
    let most = 23_044_096;
    assert_eq!(only_fault(&pack).wrong, Wrong::Large { most });
    let text = only_fault(&pack).to_string();
    assert!(
        text.contains("cup_now.wav") && text.contains("23044096"),
        "{text}"
    );
    let manifest = fs::File::options()
        .write(true)
        .open(copy.path("tones/manifest.json"))
        .unwrap();
    manifest.set_len(1 << 40).unwrap();
    let text = copy.load().faults()[0].to_string();
    assert!(text.contains("tones") && text.contains("1048576"), "{text}");
}

#[test]
fn what_is_no_file_is_told() {
    let copy = Copy::new("folder");
    let path = copy.path("voice/undo.wav");
    fs::remove_file(&path).unwrap();
    fs::create_dir(&path).unwrap();
    let pack = copy.load();
    assert!(matches!(only_fault(&pack).wrong, Wrong::Read(_)));
}

#[test]
fn a_name_outside_the_folder_is_refused() {
    let copy = Copy::new("outside");
    let manifest = copy.path("voice/manifest.json");
    let text = fs::read_to_string(&manifest).unwrap();
    fs::write(
        &manifest,
        text.replace("\"undo.wav\"", "\"../tones/beat.wav\""),
    )
    .unwrap();
    assert_eq!(only_fault(&copy.load()).wrong, Wrong::Name);
}

#[test]
fn without_any_file_every_moment_still_has_a_sound() {
    let nowhere = Path::new("/nowhere/at/all");
    let pack = Pack::from_folders(nowhere, nowhere);
    let expected = SCORE.len() + Tone::ALL.len() + Prompt::ALL.len();
    assert_eq!(pack.faults().len(), expected);
    assert!(
        pack.clips()
            .iter()
            .all(|c| c.samples.iter().any(|s| *s != 0))
    );
    assert!(matches!(pack.faults()[0].wrong, Wrong::Manifest(_)));
}

/// A length is rounded up: 24,001 samples of 24 kHz are more than a second.
#[test]
fn lengths_are_whole_milliseconds_rounded_up() {
    let copy = Copy::new("length");
    copy.replace("voice/undo.wav", &wav(SPEC, 24_001));
    assert_eq!(copy.load().lengths().ms(Prompt::Undo), 1001);
}

/// Source: arithmetic: the length grows with the rate, and a click stays where it was.
#[test]
fn clips_keep_length_and_onset_at_every_rate() {
    let copy = Copy::new("rates");
    let mut bytes = io::Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, SPEC).unwrap();
    for n in 0..24_000 {
        writer
            .write_sample(if n == 6000 { 20_000_i16 } else { 0 })
            .unwrap();
    }
    writer.finalize().unwrap();
    copy.replace("voice/undo.wav", &bytes.into_inner());
    let pack = copy.load();
    let rates = [
        8000_u32, 11_025, 16_000, 22_050, 24_000, 32_000, 44_100, 48_000,
    ];
    for hz in rates
        .into_iter()
        .chain([64_000, 88_200, 96_000, 176_400, 192_000])
    {
        let bank = Bank::new(&pack, hz).unwrap();
        let clip = bank.samples(clip_of(CueSound::Voice(Prompt::Undo)));
        assert_eq!(clip.len(), usize::try_from(hz).unwrap());
        let loudest = clip
            .iter()
            .enumerate()
            .max_by_key(|(_, s)| s.unsigned_abs());
        let at = loudest.unwrap().0;
        assert!(
            at.abs_diff(usize::try_from(hz).unwrap() / 4) <= 1,
            "{hz}: {at}"
        );
    }
}

#[test]
fn a_rate_that_no_device_has_is_refused() {
    let error = Bank::new(&Pack::built_in(), 7000).unwrap_err();
    assert!(error.to_string().contains("7000 Hz, allowed 8000"));
}

#[test]
fn a_clip_that_ends_in_the_middle_of_a_wave_ends_without_a_click() {
    let copy = Copy::new("ends");
    let mut bytes = io::Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, SPEC).unwrap();
    for _ in 0..2400 {
        writer.write_sample(-12_000_i16).unwrap();
    }
    writer.finalize().unwrap();
    copy.replace("voice/undo.wav", &bytes.into_inner());
    let pack = copy.load();
    for hz in [8000_u32, 24_000, 48_000, 192_000] {
        let bank = Bank::new(&pack, hz).unwrap();
        let clip = bank.samples(clip_of(CueSound::Voice(Prompt::Undo)));
        let end = &clip[clip.len() - usize::try_from(hz / 400).unwrap()..];
        let steps = end.windows(2).map(|w| w[1].abs_diff(w[0]));
        let most = u32::from(steps.max().unwrap());
        // Over 2 ms; what the transform itself rings by at an end comes on top.
        assert!(most <= 2 * 12_000 * 500 / hz, "{hz}: a step of {most}");
        assert!(clip.last().unwrap().unsigned_abs() <= 64, "{hz}");
    }
    // What ends in silence by itself is as it stands in its file.
    let own = Pack::built_in();
    let bank = Bank::new(&own, 48_000).unwrap();
    for (clip, id) in own.clips().iter().zip(0..).filter(|(c, _)| c.hz == 48_000) {
        assert_eq!(bank.samples(ClipId(id)), clip.samples);
    }
}
