use std::fs;

use super::super::tests::{Copy, SPEC, wav};
use super::*;

fn check(copy: &Copy) -> VoiceCheck {
    check_voices(Some(&copy.path("voice")))
}

fn only_fault(copy: &Copy) -> String {
    let check = check(copy);
    assert_eq!(check.faults.len(), 1, "{:?}", check.faults);
    check.faults[0].to_string()
}

/// Writes the manifest anew with one text put for another.
fn rewrite(copy: &Copy, from: &str, to: &str) {
    let manifest = copy.path("voice/manifest.json");
    let text = fs::read_to_string(&manifest).unwrap();
    assert!(text.contains(from), "{from}");
    fs::write(manifest, text.replacen(from, to, 1)).unwrap();
}

/// A clip of `peak` after `lead` samples of nothing.
fn tone(lead: usize, samples: usize, peak: i16, hz: u32) -> Vec<u8> {
    let spec = hound::WavSpec {
        sample_rate: hz,
        ..SPEC
    };
    let mut bytes = std::io::Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
    for n in 0..samples {
        let sample = if n < lead { 0 } else { peak };
        writer.write_sample(sample).unwrap();
    }
    writer.finalize().unwrap();
    bytes.into_inner()
}

#[test]
fn the_built_in_pack_has_no_fault() {
    let check = check_voices(None);
    assert_eq!(check.faults, []);
    assert_eq!(
        (check.pack.as_str(), check.clips),
        ("en-US", Prompt::ALL.len())
    );
}

#[test]
fn a_missing_clip_is_named_with_its_file_and_what_to_do() {
    let copy = Copy::new("check-missing");
    fs::remove_file(copy.path("voice/chk_now.wav")).unwrap();
    let said = only_fault(&copy);
    assert!(said.starts_with("chk_now ("), "{said}");
    assert!(
        said.contains("chk_now.wav") && said.ends_with("put the file there"),
        "{said}"
    );
}

#[test]
fn every_fault_is_named_and_not_the_first_alone() {
    let copy = Copy::new("check-many");
    fs::remove_file(copy.path("voice/chk_now.wav")).unwrap();
    fs::write(copy.path("voice/undo.wav"), b"RIFF").unwrap();
    copy.replace(
        "voice/still.wav",
        &wav(
            hound::WavSpec {
                channels: 2,
                ..SPEC
            },
            48_000,
        ),
    );
    rewrite(&copy, "\"off05\"", "\"off07\"");
    let faults: Vec<_> = check(&copy)
        .faults
        .iter()
        .map(ToString::to_string)
        .collect();
    let found = |start: &str, part: &str| {
        assert!(
            faults
                .iter()
                .any(|f| f.starts_with(start) && f.contains(part)),
            "{start} {part} in {faults:#?}"
        );
    };
    assert_eq!(faults.len(), 5, "{faults:#?}");
    found("chk_now (", "cannot be read");
    found("undo (", "SHA-256");
    found("still (", "2 channels");
    found("off05 (", "not listed");
    assert!(faults[0].contains("clip off07"), "{faults:#?}");
}

#[test]
fn a_clip_is_held_to_length_rate_peak_and_a_prompt_start() {
    for (name, bytes, wrong) in [
        (
            "long",
            tone(0, 68_000, 20_000, 24_000),
            "2834 ms long, allowed at most 2800",
        ),
        (
            "slow",
            tone(0, 11_025, 20_000, 11_025),
            "11025 Hz, allowed at least 16000",
        ),
        (
            "loud",
            tone(0, 24_000, 32_000, 24_000),
            "largest sample 32000",
        ),
        (
            "quiet",
            tone(0, 24_000, 3_000, 24_000),
            "largest sample 3000",
        ),
        (
            "late",
            tone(4_800, 24_000, 20_000, 24_000),
            "200 ms of silence",
        ),
    ] {
        let copy = Copy::new(&format!("check-{name}"));
        copy.replace("voice/off10.wav", &bytes);
        let mut faults = check(&copy).faults;
        // A shorter clip may take the pack as a whole over its rate, which has a test of its own.
        faults.retain(|fault| !fault.wrong.contains("words a minute in the median"));
        // The manifest still has the length of the clip before.
        assert_eq!(faults.len(), 2, "{name}: {faults:?}");
        assert_eq!(faults[0].place, "off10");
        assert!(faults[0].wrong.contains(wrong), "{name}: {}", faults[0]);
        assert!(
            faults[1].wrong.contains("the manifest says"),
            "{}",
            faults[1]
        );
    }
}

#[test]
fn what_the_manifest_leaves_out_is_asked_for() {
    for (from, to, wrong) in [
        ("\"pack\": \"en-US\"", "\"pack\": \"\"", "no pack"),
        ("\"format\": 1", "\"format\": 2", "format 2, allowed 1"),
        (
            "\"licence\": \"MIT OR Apache-2.0\"",
            "\"licence\": \"\"",
            "no licence",
        ),
        (
            "\"text\": \"Off: ten seconds.\"",
            "\"text\": \" \"",
            "no text",
        ),
        ("\"id\": \"off10\"", "\"id\": \"off05\"", "listed twice"),
    ] {
        let copy = Copy::new("check-left-out");
        rewrite(&copy, from, to);
        let faults = check(&copy).faults;
        assert!(
            faults.iter().any(|f| f.to_string().contains(wrong)),
            "{wrong}: {faults:?}"
        );
    }
    let copy = Copy::new("check-no-manifest");
    fs::write(copy.path("voice/manifest.json"), "{").unwrap();
    assert!(only_fault(&copy).contains("manifest.json: cannot be used"));
}

#[test]
fn a_pack_spoken_too_quickly_is_told_to_slow_down() {
    let copy = Copy::new("check-quick");
    let manifest = copy.path("voice/manifest.json");
    let text = fs::read_to_string(&manifest).unwrap();
    let text = text.replace("\"text\": \"", "\"text\": \"So then: ");
    fs::write(manifest, text).unwrap();
    let said = only_fault(&copy);
    assert!(
        said.contains("words a minute in the median, allowed 95 to 120"),
        "{said}"
    );
}

#[test]
fn a_service_s_own_recordings_speak_if_they_are_whole_and_not_at_all_otherwise() {
    let copy = Copy::new("check-own");
    let voices = copy.path("voices");
    let (pack, faults) = Pack::with_own(&voices, "en-US");
    assert_eq!((pack.hash(), faults), (Pack::built_in().hash(), Vec::new()));

    fs::create_dir_all(&voices).unwrap();
    fs::rename(copy.path("voice"), voices.join("en-US")).unwrap();
    let own = tone(0, 38_400, 20_000, 24_000);
    copy.replace("voices/en-US/off10.wav", &own);
    let manifest = voices.join("en-US/manifest.json");
    let text = fs::read_to_string(&manifest).unwrap();
    let listed = text.find("\"off10.wav\"").unwrap();
    let ms = listed + text[listed..].find("\"ms\": ").unwrap() + 6;
    let end = ms + text[ms..].find(',').unwrap();
    fs::write(&manifest, format!("{} 1600{}", &text[..ms], &text[end..])).unwrap();
    let (pack, faults) = Pack::with_own(&voices, "en-US");
    assert_eq!(faults, []);
    assert_ne!(pack.hash(), Pack::built_in().hash());
    assert_eq!(pack.lengths().ms(Prompt::Off10), 1600);

    // Quick ones: without them the pack is not spoken more quickly.
    for prompt in ["chk_now", "cup_now", "fit_plan", "hold_end"] {
        fs::remove_file(voices.join(format!("en-US/{prompt}.wav"))).unwrap();
    }
    let (pack, faults) = Pack::with_own(&voices, "en-US");
    assert_eq!(pack.hash(), Pack::built_in().hash());
    let told: Vec<_> = faults.iter().map(ToString::to_string).collect();
    assert_eq!(told.len(), 4, "{told:#?}");
    assert!(told[0].starts_with("chk_now ("), "{told:#?}");
    assert!(
        told[3].contains("1 more faults, the built-in voice speaks"),
        "{told:#?}"
    );
}

#[test]
fn own_recordings_of_another_language_than_the_folder_s_do_not_speak() {
    let copy = Copy::new("check-tongue");
    fs::create_dir_all(copy.path("voices")).unwrap();
    fs::rename(copy.path("voice"), copy.path("voices/es-419")).unwrap();
    let (_, faults) = Pack::with_own(&copy.path("voices"), "es-419");
    assert!(
        faults[0].wrong.contains("pack \"en-US\", allowed es-419"),
        "{faults:?}"
    );
}
