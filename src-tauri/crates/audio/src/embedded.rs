//! The tones and the voice packs inside the program.

/// One folder of clips: file names and what is in them.
pub(crate) type Folder = &'static [(&'static str, &'static [u8])];

macro_rules! folder {
    ($dir:literal, $($file:literal)+) => {
        &[$((
            $file,
            include_bytes!(concat!("../../../../sounds/", $dir, "/", $file)),
        )),+]
    };
}

pub(crate) const TONES: Folder = folder!(
    "tones",
    "manifest.json" "attention.wav" "beat.wav" "beat_first.wav" "beat_last.wav" "breath.wav"
    "life.wav" "receipt.wav" "sound_back.wav"
);

macro_rules! voice {
    ($lang:literal) => {
        ($lang, concat!("sounds/", $lang), folder!(
            $lang,
            "manifest.json" "arrest_again.wav" "beat_off.wav" "causes.wav" "charge.wav" "chk_15.wav"
            "chk_30.wav" "chk_cd1.wav" "chk_cd2.wav" "chk_cd3.wav" "chk_cd4.wav" "chk_cd5.wav" "chk_now.wav"
            "chk_over.wav" "cup_down.wav" "cup_now.wav" "dev_cont.wav" "dev_ratio.wav" "dev_stop.wav"
            "drug_60.wav" "drug_due.wav" "drug_late.wav" "drug_next.wav" "fit_plan.wav" "hold_end.wav"
            "hr_now.wav" "move_plan.wav" "next_up.wav" "off05.wav" "off10.wav" "off15.wav" "off20.wav"
            "off30.wav" "off40.wav" "off50.wav" "off60.wav" "pads_now.wav" "phone_low.wav" "plan_now.wav"
            "power_10.wav" "power_2.wav" "power_over.wav" "rotate_now.wav" "still.wav" "undo.wav"
            "voice_off.wav" "voice_on.wav"
        ))
    };
}

/// The voices, each with its language and its place; the first stands in where a language has none.
pub(crate) const VOICES: &[(&str, &str, Folder)] = &[
    voice!("en-US"),
    voice!("en-GB"),
    voice!("es-419"),
    voice!("es-ES"),
];
