//! The tones and the voice pack inside the program.

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

pub(crate) const VOICE: Folder = folder!(
    "en-US",
    "manifest.json" "chk_30.wav" "chk_cd1.wav" "chk_cd2.wav" "chk_cd3.wav" "chk_cd4.wav"
    "chk_cd5.wav" "chk_now.wav" "chk_over.wav" "cup_down.wav" "cup_now.wav" "dev_cont.wav"
    "dev_ratio.wav" "dev_stop.wav" "hold_end.wav" "off10.wav" "off15.wav" "off20.wav" "off30.wav"
    "off40.wav" "off50.wav" "off60.wav" "power_over.wav" "undo.wav"
);
