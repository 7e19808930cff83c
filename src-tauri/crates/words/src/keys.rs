//! The messages that stand alone; `all` has every key of a message file.

mod all;

pub(crate) use all::all;

/// A message that belongs to no closed list of the rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fixed {
    /// Hands On, where the pack is out and hands take over.
    HandsInstead,
    /// The check's question, where the compressor changes with it.
    CheckRotate,
    /// The check's question, where the device is fitted in its pause.
    CheckFit,
    /// The check's question once it is answered.
    CheckAnswered,
    /// The question of a swap once the new pack is in.
    PackIn,
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
    /// Puts a line away.
    PutAway,
    /// The sheet's next page.
    More,
    /// Ends the run when held.
    HoldEnd,
    /// Puts a finished run away.
    NewRun,
    /// Takes an end by mistake back.
    NotEnded,
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
    /// The name of the service's own protocol.
    StartOwn,
    /// Over what is said of the service's own files.
    OwnFiles,
    /// Where they lie.
    OwnFolder,
    /// The one that was chosen is not there or has a fault.
    OwnGone,
    /// The record is kept.
    EndedKept,
    /// It is not, or not whole.
    EndedNotKept,
    /// A run without a file is asked for.
    ErrorNotKept,
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
    /// A setting cannot be so.
    ErrorSetting,
    /// What is kept is out of sight while the phone is locked.
    ErrorPhoneLocked,
    /// The system's name for notices of a run.
    NoticeChannel,
    /// The notice of a run, its first line.
    NoticeTitle,
    /// Its second line.
    NoticeText,
    /// Opens the sheet that sets the state right.
    SetRight,
    /// Asks for the true state.
    WhatIsTrue,
    /// Asks since when.
    SinceWhen,
    /// Since now.
    SinceNow,
    /// Since so many minutes; takes `$n`.
    SinceMinutes,
    /// Since the last change of the state.
    SinceChange,
    /// Opens the last marks.
    LastMarks,
    /// There are none.
    NoMarks,
    /// Moves a mark back; takes `$n` seconds.
    EarlierBy,
    /// Takes a mark away.
    Remove,
    /// Stands after a time that has passed.
    Ago,
    /// Opens the hand-over card.
    HandOver,
    /// Over the lists beside that card.
    OwnLists,
    /// Opens the lists of the moment.
    Lists,
    /// Goes back.
    Back,
    /// Opens what can be done when nothing runs.
    Menu,
    /// Opens the choice of the class.
    Patient,
    /// Turns the screen.
    Turn,
    /// Opens how the screen is to look.
    Screen,
    /// Steps to the next set of colours.
    Colours,
    /// Covers it.
    Cover,
    /// What stands on it then.
    Covered,
    /// The plain debrief.
    Debrief,
    /// What is made ready.
    MakeReady,
    /// So many shocks in a row; takes `$n`.
    InARow,
    /// So many, and the last one when; takes `$n`.
    AndLast,
    /// After the run: the card has the marks as they were made in it.
    AsMarked,
    /// A number that is none.
    NoneMarked,
    /// None of a drug, as told.
    NoneOf,
    /// Seconds and tenths; takes `$name`.
    Seconds,
    /// What is allowed; takes `$name`.
    Allowed,
    /// Where it comes from; takes `$name`.
    Source,
    /// Milliseconds; takes `$name`.
    Milliseconds,
    /// Megabytes; takes `$name`.
    Megabytes,
    /// The program's version.
    Version,
    /// A protocol's short name.
    FileId,
    /// Its version.
    FileVersion,
    /// Its hash.
    FileHash,
    /// A run without an end.
    Unfinished,
    /// A record that was changed.
    Damaged,
    /// SHA-256 of the record's last line.
    Fingerprint,
    /// What the fingerprint is for.
    FingerprintUse,
    /// A list without lines.
    NoneKept,
    /// This device does not tell.
    NotTold,
    /// Over what the app looked at itself.
    ReadyOwn,
    /// A line was kept.
    ReadyKept,
    /// A line cannot be kept.
    ReadyNotKept,
    /// Free space.
    ReadyFree,
    /// The voice pack is whole.
    ReadyPack,
    /// The protocol in force.
    ReadyProtocol,
    /// Over what the crew looks at.
    ReadyLook,
    /// Over the kit list.
    ReadyKit,
    /// Plays the sounds.
    Listen,
    /// What is heard then.
    ListenNote,
    /// Over the levels.
    Levels,
    /// Heads the choices of when the beat is felt.
    Feel,
    /// One of them, louder; takes `$name`.
    Louder,
    /// One of them, softer; takes `$name`.
    Softer,
    /// So many decibels below full; takes `$name`.
    BelowFull,
    /// At full.
    AtFull,
    /// Over the colours.
    Theme,
    /// Over the protocols.
    InForce,
    /// The first page.
    TitleFirst,
    /// The page about the program.
    TitleAbout,
    /// The protocol.
    TitleProtocol,
    /// Past runs.
    TitlePast,
    /// The ready check.
    TitleReady,
    /// The settings.
    TitleSettings,
    /// The language's name in itself.
    LanguageName,
    /// The decimal mark.
    Decimal,
    /// Over the languages.
    Language,
    /// Asks for the language, where none was chosen.
    LanguageAsk,
    /// The language that was chosen cannot be had; takes `$name`.
    LanguageGone,
    /// There is no voice of this language; takes `$name`.
    OtherVoice,
    /// What cannot be set while a run goes on.
    ErrorInRun,
    /// A fault with its detail in English; takes `$name`.
    Fault,
}

impl Fixed {
    /// Every one.
    pub const ALL: &'static [Self] = &[
        Self::HandsInstead,
        Self::CheckRotate,
        Self::CheckFit,
        Self::CheckAnswered,
        Self::PackIn,
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
        Self::PutAway,
        Self::HoldEnd,
        Self::NewRun,
        Self::NotEnded,
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
        Self::StartOwn,
        Self::OwnFiles,
        Self::OwnFolder,
        Self::OwnGone,
        Self::EndedKept,
        Self::EndedNotKept,
        Self::ErrorNotKept,
        Self::ErrorLocked,
        Self::ErrorLockedRemedy,
        Self::ErrorFolder,
        Self::ErrorProtocol,
        Self::ErrorStart,
        Self::ErrorSetting,
        Self::ErrorPhoneLocked,
        Self::NoticeChannel,
        Self::NoticeTitle,
        Self::NoticeText,
        Self::SetRight,
        Self::WhatIsTrue,
        Self::SinceWhen,
        Self::SinceNow,
        Self::SinceMinutes,
        Self::SinceChange,
        Self::LastMarks,
        Self::NoMarks,
        Self::EarlierBy,
        Self::Remove,
        Self::Ago,
        Self::HandOver,
        Self::OwnLists,
        Self::Lists,
        Self::Back,
        Self::Menu,
        Self::Patient,
        Self::Turn,
        Self::Screen,
        Self::Colours,
        Self::Cover,
        Self::Covered,
        Self::Debrief,
        Self::MakeReady,
        Self::InARow,
        Self::AndLast,
        Self::AsMarked,
        Self::NoneMarked,
        Self::NoneOf,
        Self::Seconds,
        Self::Allowed,
        Self::Source,
        Self::Milliseconds,
        Self::Megabytes,
        Self::Version,
        Self::FileId,
        Self::FileVersion,
        Self::FileHash,
        Self::Unfinished,
        Self::Damaged,
        Self::Fingerprint,
        Self::FingerprintUse,
        Self::NoneKept,
        Self::NotTold,
        Self::ReadyOwn,
        Self::ReadyKept,
        Self::ReadyNotKept,
        Self::ReadyFree,
        Self::ReadyPack,
        Self::ReadyProtocol,
        Self::ReadyLook,
        Self::ReadyKit,
        Self::Listen,
        Self::ListenNote,
        Self::Levels,
        Self::Feel,
        Self::Louder,
        Self::Softer,
        Self::BelowFull,
        Self::AtFull,
        Self::Theme,
        Self::InForce,
        Self::TitleFirst,
        Self::TitleAbout,
        Self::TitleProtocol,
        Self::TitlePast,
        Self::TitleReady,
        Self::TitleSettings,
        Self::LanguageName,
        Self::Decimal,
        Self::Language,
        Self::LanguageAsk,
        Self::LanguageGone,
        Self::OtherVoice,
        Self::ErrorInRun,
        Self::Fault,
    ];

    /// Its key in the message files.
    #[expect(clippy::too_many_lines, reason = "one table, one row a message")]
    pub const fn key(self) -> &'static str {
        match self {
            Self::HandsInstead => "act-hands_on-instead",
            Self::CheckRotate => "card-check_due-rotate",
            Self::CheckFit => "card-check_due-fit",
            Self::CheckAnswered => "card-check-answered",
            Self::PackIn => "card-power-in",
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
            Self::PutAway => "fixed-put_away",
            Self::HoldEnd => "fixed-hold_end",
            Self::NewRun => "fixed-new_run",
            Self::NotEnded => "fixed-not_ended",
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
            Self::StartOwn => "start-own",
            Self::OwnFiles => "fixed-own_files",
            Self::OwnFolder => "fixed-own_folder",
            Self::OwnGone => "fixed-own_gone",
            Self::EndedKept => "ended-kept",
            Self::EndedNotKept => "ended-not_kept",
            Self::ErrorNotKept => "error-not_kept",
            Self::ErrorLocked => "error-locked",
            Self::ErrorLockedRemedy => "error-locked-remedy",
            Self::ErrorFolder => "error-folder",
            Self::ErrorProtocol => "error-protocol",
            Self::ErrorStart => "error-start",
            Self::ErrorSetting => "error-setting",
            Self::ErrorPhoneLocked => "error-phone_locked",
            Self::NoticeChannel => "notice-channel",
            Self::NoticeTitle => "notice-title",
            Self::NoticeText => "notice-text",
            Self::SetRight => "fixed-set_right",
            Self::WhatIsTrue => "fixed-what_is_true",
            Self::SinceWhen => "fixed-since_when",
            Self::SinceNow => "fixed-since_now",
            Self::SinceMinutes => "fixed-since_minutes",
            Self::SinceChange => "fixed-since_change",
            Self::LastMarks => "fixed-last_marks",
            Self::NoMarks => "fixed-no_marks",
            Self::EarlierBy => "fixed-earlier",
            Self::Remove => "fixed-remove",
            Self::Ago => "fixed-ago",
            Self::HandOver => "fixed-hand_over",
            Self::OwnLists => "fixed-own_lists",
            Self::Lists => "fixed-lists",
            Self::Back => "fixed-back",
            Self::Menu => "fixed-menu",
            Self::Patient => "fixed-patient",
            Self::Turn => "fixed-turn",
            Self::Screen => "fixed-screen",
            Self::Colours => "fixed-colours",
            Self::Cover => "fixed-cover",
            Self::Covered => "fixed-covered",
            Self::Debrief => "fixed-debrief",
            Self::MakeReady => "fixed-make_ready",
            Self::InARow => "fixed-in_a_row",
            Self::AndLast => "fixed-and_last",
            Self::AsMarked => "fixed-as_marked",
            Self::NoneMarked => "fixed-none_marked",
            Self::NoneOf => "fixed-none_of",
            Self::Seconds => "fixed-seconds",
            Self::Allowed => "fixed-allowed",
            Self::Source => "fixed-source",
            Self::Milliseconds => "fixed-ms",
            Self::Megabytes => "fixed-mb",
            Self::Version => "fixed-version",
            Self::FileId => "fixed-file_id",
            Self::FileVersion => "fixed-file_version",
            Self::FileHash => "fixed-file_hash",
            Self::Unfinished => "fixed-unfinished",
            Self::Damaged => "fixed-damaged",
            Self::Fingerprint => "fixed-fingerprint",
            Self::FingerprintUse => "fixed-fingerprint_use",
            Self::NoneKept => "fixed-none_kept",
            Self::NotTold => "fixed-not_told",
            Self::ReadyOwn => "fixed-ready_own",
            Self::ReadyKept => "fixed-ready_kept",
            Self::ReadyNotKept => "fixed-ready_not_kept",
            Self::ReadyFree => "fixed-ready_free",
            Self::ReadyPack => "fixed-ready_pack",
            Self::ReadyProtocol => "fixed-ready_protocol",
            Self::ReadyLook => "fixed-ready_look",
            Self::ReadyKit => "fixed-ready_kit",
            Self::Listen => "fixed-listen",
            Self::ListenNote => "fixed-listen_note",
            Self::Levels => "fixed-levels",
            Self::Feel => "fixed-feel",
            Self::Louder => "fixed-louder",
            Self::Softer => "fixed-softer",
            Self::BelowFull => "fixed-below_full",
            Self::AtFull => "fixed-at_full",
            Self::Theme => "fixed-theme",
            Self::InForce => "fixed-in_force",
            Self::TitleFirst => "title-first",
            Self::TitleAbout => "title-about",
            Self::TitleProtocol => "title-protocol",
            Self::TitlePast => "title-past",
            Self::TitleReady => "title-ready",
            Self::TitleSettings => "title-settings",
            Self::LanguageName => "fixed-language_name",
            Self::Decimal => "fixed-decimal",
            Self::Language => "fixed-language",
            Self::LanguageAsk => "fixed-language_ask",
            Self::LanguageGone => "fixed-language_gone",
            Self::OtherVoice => "fixed-other_voice",
            Self::ErrorInRun => "error-in_run",
            Self::Fault => "fixed-fault",
        }
    }
}
