use cycle::{
    Act, Banner, Card, NextWord, Prompt, StateWord,
    mark::{Outcome, Reason},
};

/// A message that belongs to no closed list of the rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fixed {
    /// Hands On, where the pack is out and hands take over.
    HandsInstead,
    /// The check's question, where the compressor changes with it.
    CheckRotate,
    /// The check's question, where the device is fitted in its pause.
    CheckFit,
    /// The fitting's question before the first of two pauses.
    FittingFirst,
    /// The fitting's question, where it waits for the check's pause.
    FittingInCheck,
    /// The question in the first of two pauses of the fitting.
    FitPauseFirst,
    /// The figure counts compressions.
    FigureCount,
    /// The figure is the time off the chest.
    FigureOff,
    /// The figure is a time since something else.
    FigureSince,
    /// The figure counts down.
    FigureUntil,
    /// The figure has run over.
    FigureOver,
    /// Opens the sheet of rarer marks.
    Mark,
    /// Takes the last mark back.
    Undo,
    /// Closes a sheet.
    Close,
    /// The sheet's next page.
    More,
    /// Ends the run when held.
    HoldEnd,
    /// Puts a finished run away.
    NewRun,
    /// The app's name.
    App,
    /// A touch was taken.
    Touched,
    /// A mark is on disk.
    Kept,
    /// A mark waits for the disk.
    Saving,
    /// What was pressed made no mark.
    Refused,
    /// Names the sheet of marks.
    Marks,
    /// Names the sheet of outcomes.
    HowEnded,
    /// Names the beat light.
    BeatLight,
    /// So many shocks; takes `$n`.
    Shocks,
    /// For trained crews.
    CautionTrained,
    /// Local protocol first.
    CautionProtocol,
    /// Not a medical device.
    CautionDevice,
    /// It senses nothing.
    CautionSenses,
    /// The protocol is an example; takes `$name`.
    StartExample,
    /// The record is kept.
    EndedKept,
    /// A second start.
    ErrorLocked,
    /// What to do about it.
    ErrorLockedRemedy,
    /// The run folder cannot be used.
    ErrorFolder,
    /// The protocol cannot be used.
    ErrorProtocol,
    /// Anything else that stops the start.
    ErrorStart,
}

impl Fixed {
    /// Every one.
    pub const ALL: &'static [Self] = &[
        Self::HandsInstead,
        Self::CheckRotate,
        Self::CheckFit,
        Self::FittingFirst,
        Self::FittingInCheck,
        Self::FitPauseFirst,
        Self::FigureCount,
        Self::FigureOff,
        Self::FigureSince,
        Self::FigureUntil,
        Self::FigureOver,
        Self::Mark,
        Self::Undo,
        Self::Close,
        Self::More,
        Self::HoldEnd,
        Self::NewRun,
        Self::App,
        Self::Touched,
        Self::Kept,
        Self::Saving,
        Self::Refused,
        Self::Marks,
        Self::HowEnded,
        Self::BeatLight,
        Self::Shocks,
        Self::CautionTrained,
        Self::CautionProtocol,
        Self::CautionDevice,
        Self::CautionSenses,
        Self::StartExample,
        Self::EndedKept,
        Self::ErrorLocked,
        Self::ErrorLockedRemedy,
        Self::ErrorFolder,
        Self::ErrorProtocol,
        Self::ErrorStart,
    ];

    /// Its key in the message files.
    pub const fn key(self) -> &'static str {
        match self {
            Self::HandsInstead => "act-hands_on-instead",
            Self::CheckRotate => "card-check_due-rotate",
            Self::CheckFit => "card-check_due-fit",
            Self::FittingFirst => "card-fitting-first",
            Self::FittingInCheck => "card-fitting-in_check",
            Self::FitPauseFirst => "card-fit_pause-first",
            Self::FigureCount => "figure-count",
            Self::FigureOff => "figure-off",
            Self::FigureSince => "figure-since",
            Self::FigureUntil => "figure-until",
            Self::FigureOver => "figure-over",
            Self::Mark => "fixed-mark",
            Self::Undo => "fixed-undo",
            Self::Close => "fixed-close",
            Self::More => "fixed-more",
            Self::HoldEnd => "fixed-hold_end",
            Self::NewRun => "fixed-new_run",
            Self::App => "fixed-app",
            Self::Touched => "fixed-touched",
            Self::Kept => "fixed-kept",
            Self::Saving => "fixed-saving",
            Self::Refused => "fixed-refused",
            Self::Marks => "fixed-marks",
            Self::HowEnded => "fixed-how_ended",
            Self::BeatLight => "fixed-beat_light",
            Self::Shocks => "fixed-shocks",
            Self::CautionTrained => "caution-trained",
            Self::CautionProtocol => "caution-protocol",
            Self::CautionDevice => "caution-device",
            Self::CautionSenses => "caution-senses",
            Self::StartExample => "start-example",
            Self::EndedKept => "ended-kept",
            Self::ErrorLocked => "error-locked",
            Self::ErrorLockedRemedy => "error-locked-remedy",
            Self::ErrorFolder => "error-folder",
            Self::ErrorProtocol => "error-protocol",
            Self::ErrorStart => "error-start",
        }
    }
}

/// Every key that a message file must hold; it may hold no other.
pub(crate) fn all() -> Vec<String> {
    fn listed<T: Copy>(
        list: &'static [T],
        prefix: &'static str,
        word: fn(T) -> &'static str,
    ) -> impl Iterator<Item = String> {
        list.iter()
            .map(move |item| format!("{prefix}-{}", word(*item)))
    }
    listed(Act::ALL, "act", Act::word)
        .chain(listed(Card::ALL, "card", Card::word))
        .chain(listed(StateWord::ALL, "state", StateWord::word))
        .chain(listed(Reason::ALL, "reason", Reason::word))
        .chain(listed(Banner::ALL, "banner", Banner::word))
        .chain(listed(NextWord::ALL, "next", NextWord::word))
        .chain(listed(Outcome::ALL, "outcome", Outcome::word))
        .chain(listed(Prompt::ALL, "prompt", Prompt::word))
        .chain(Fixed::ALL.iter().map(|fixed| fixed.key().to_owned()))
        .collect()
}
