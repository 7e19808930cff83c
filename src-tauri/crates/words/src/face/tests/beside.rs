//! What stands beside the question: remarks, the sheet's pages, the hand-over card, the last marks.

use cycle::{
    Act, Ask, DrugLine, DrugWord, LastMark, List, ListWord, Mark, Ms, Prompt, Said, Seq, StateWord,
    View,
    hand_over::{DosesGiven, Due, DueWord, HandOver, LongestPause},
    mark::{
        AirwayDevice, BreathMode, By, FlowMark, PatientClass, PriorCare, PriorCpr, Reason, TempBand,
    },
};

use super::{view, words};
use crate::GroupWord;

fn drug(stands: DrugWord) -> DrugLine {
    DrugLine {
        key: "adrenaline".to_owned(),
        name: "Epinephrine".to_owned(),
        words: "1 mg".to_owned(),
        stands,
        at: None,
        n: 1,
    }
}

#[test]
fn remarks_stand_in_the_order_in_which_they_press() {
    let face = words().face(
        &View {
            asks: vec![Ask::StillOff, Ask::DevicePause, Ask::KeepPack],
            drugs: vec![drug(DrugWord::NotDue), drug(DrugWord::Late)],
            device_mode: Some(BreathMode::Continuous),
            in_a_row: 3,
            state: StateWord::ByDevice,
            lists: vec![List {
                word: ListWord::Roles,
                lines: vec!["One compresses".to_owned(), "One gives breaths".to_owned()],
            }],
            ..view(cycle::Card::DeviceContinuous)
        },
        &[],
    );
    let notes: Vec<&str> = face.notes.iter().map(|note| note.text.as_str()).collect();
    assert_eq!(
        notes,
        [
            "Still off?",
            "On mains: pack still in?",
            "Epinephrine: late",
            "Device on continuous?",
            "3 shocks in a row",
            "Who does what: One compresses",
            "One gives breaths",
        ]
    );
    assert_eq!(face.lists[0].title, "Who does what");
}

/// Under "Epinephrine is due." its note would say the same again; once it is late, and of other drugs, it does not.
#[test]
fn what_was_just_said_is_not_said_again_below_it() {
    let notes = |prompt, stands| {
        let other = DrugLine {
            key: "antiarrhythmic".to_owned(),
            name: "Amiodarone".to_owned(),
            ..drug(DrugWord::Due)
        };
        let view = View {
            said: Some(Said { prompt, at: Ms(1) }),
            drugs: vec![drug(stands), other],
            ..view(cycle::Card::HandRatio)
        };
        let notes = words().face(&view, &[]).notes;
        notes.into_iter().map(|note| note.text).collect::<Vec<_>>()
    };
    let other = "Amiodarone: due";
    assert_eq!(notes(Prompt::DrugDue, DrugWord::Due), [other]);
    assert_eq!(notes(Prompt::DrugLate, DrugWord::Late), [other]);
    assert_eq!(
        notes(Prompt::DrugDue, DrugWord::Late),
        ["Epinephrine: late", other]
    );
    assert_eq!(
        notes(Prompt::NextUp, DrugWord::Due),
        ["Epinephrine: due", other]
    );
}

/// Under "Epinephrine is due." a key Cup Good, or Shocked, would be taken for an answer to that.
#[test]
fn what_is_said_stands_in_the_question_s_place_only_where_the_keys_do_not_answer_another() {
    let shown = |card, main: [Act; 2], prompt| {
        let view = View {
            said: Some(Said { prompt, at: Ms(1) }),
            main: main.to_vec(),
            ..view(card)
        };
        let face = words().face(&view, &[]);
        let first = face.notes.into_iter().next().map(|note| note.text);
        (face.said.map(|said| said.text), first)
    };
    let question = |text: &str| (Some(text.to_owned()), None);
    let remark = |text: &str| (None, Some(text.to_owned()));
    let cup = [Act::CupGood, Act::Reseat];
    for (prompt, text) in [
        (Prompt::ChkNow, "Time for rhythm check."),
        (Prompt::DevCont, "Airway in. Device to continuous."),
        (Prompt::Drug60, "Epinephrine in one minute."),
    ] {
        assert_eq!(shown(cycle::Card::Cup, cup, prompt), remark(text));
    }
    // A phone that does not speak gives it as well, for a frame without room for remarks.
    let silent = View {
        said: Some(Said {
            prompt: Prompt::DrugDue,
            at: Ms(1),
        }),
        main: cup.to_vec(),
        ..view(cycle::Card::Cup)
    };
    let face = words().face(&silent, &[cycle::Banner::VoiceOff]);
    let said = face.said.expect("said");
    assert_eq!(
        (said.text.as_str(), said.beside),
        ("Epinephrine is due.", true)
    );
    assert_eq!(face.notes[0].text, said.text);
    let face = words().face(&silent, &[]);
    assert_eq!(face.said, None);
    assert_eq!(face.notes[0].text, "Epinephrine is due.");
    let own = shown(cycle::Card::Cup, cup, Prompt::CupDown);
    assert_eq!(own, question("Set down. Check the cup."));
    let through = [Act::ShockThrough, Act::NoShockThrough];
    let due = |prompt| shown(cycle::Card::CheckDue, through, prompt);
    assert_eq!(due(Prompt::ChkNow), question("Time for rhythm check."));
    assert_eq!(due(Prompt::DrugDue), remark("Epinephrine is due."));
    let check = [Act::ShockedHand, Act::NoShockHand];
    let off = |main| shown(cycle::Card::Check, main, Prompt::Off10);
    assert_eq!(off(check), remark("Off: ten seconds."));
    // The result is in: hands on is no answer to anything that could be said.
    let answered = [Act::HandsOn, Act::DeviceRunning];
    assert_eq!(off(answered), question("Off: ten seconds."));
    let by_hand = [Act::HandsOff, Act::HandsOff];
    let plain = shown(cycle::Card::HandRatio, by_hand, Prompt::DrugDue);
    assert_eq!(plain, question("Epinephrine is due."));
}

#[test]
fn with_hands_off_no_list_stands_beside_the_time() {
    let face = words().face(
        &View {
            asks: vec![Ask::StillOff],
            state: StateWord::HandsOff,
            lists: vec![List {
                word: ListWord::Roles,
                lines: vec!["One compresses".to_owned()],
            }],
            ..view(cycle::Card::HandsOff)
        },
        &[],
    );
    let notes: Vec<&str> = face.notes.iter().map(|note| note.text.as_str()).collect();
    assert_eq!(notes, ["Still off?"]);
    assert_eq!(face.lists.len(), 1, "it is behind Mark all the same");
}

#[test]
fn every_act_has_one_page_of_the_sheet() {
    for act in Act::ALL {
        assert!(GroupWord::ALL.contains(&GroupWord::of(*act)), "{act:?}");
    }
    let of = GroupWord::of;
    assert_eq!(of(Act::DrugByClock), GroupWord::Care);
    assert_eq!(of(Act::AirwayTry), GroupWord::Care);
    assert_eq!(of(Act::AirwayIn), GroupWord::Care);
    assert_eq!(of(Act::Ultrasound), GroupWord::Task);
    assert_eq!(of(Act::MoveStairs), GroupWord::Task);
    assert_eq!(of(Act::MoveSoon), GroupWord::Task);
    assert_eq!(of(Act::PadsOn), GroupWord::Check);
    assert_eq!(of(Act::PulseBack), GroupWord::Check);
    assert_eq!(of(Act::HandsOff), GroupWord::Chest);
    assert_eq!(of(Act::PowerSwap), GroupWord::Chest);
    assert_eq!(of(Act::ClassChild), GroupWord::Patient);
    assert_eq!(of(Act::OverlayCold30), GroupWord::Patient);
    assert_eq!(of(Act::ColdOff), GroupWord::Patient);
    assert_eq!(of(Act::OverlayDrowning), GroupWord::Special);
    assert_eq!(of(Act::DrowningOff), GroupWord::Special);
    assert_eq!(of(Act::Flag), GroupWord::Run);
    assert_eq!(of(Act::WhyLine), GroupWord::Why);
    assert_eq!(of(Act::Co2), GroupWord::Care);
    assert_eq!(of(Act::OtherDrug), GroupWord::Care);
    assert_eq!(of(Act::FitReason), GroupWord::Chest);
}

/// Each class stands once on the start card, with the protocol that it brings; a situation is a key.
#[test]
fn before_a_run_the_sheet_leaves_the_classes_to_their_own_keys() {
    let sheet = vec![Act::StartQuiet, Act::OverlayTrauma, Act::ClassChild];
    let acts = |card| {
        let view = View {
            sheet: sheet.clone(),
            ..view(card)
        };
        let face = words().face(&view, &[]);
        face.sheet.iter().map(|key| key.act).collect::<Vec<_>>()
    };
    assert_eq!(acts(cycle::Card::Before), sheet[..2]);
    assert_eq!(acts(cycle::Card::HandRatio), sheet);
}

#[test]
fn the_pages_hold_every_key_of_the_sheet_and_no_page_is_empty() {
    let sheet = vec![Act::PadsOn, Act::DrugByClock, Act::Flag, Act::VoiceOff];
    let face = words().face(
        &View {
            sheet: sheet.clone(),
            ..view(cycle::Card::HandRatio)
        },
        &[],
    );
    let pages: Vec<(GroupWord, Vec<Act>)> = face
        .groups
        .into_iter()
        .map(|group| (group.group, group.keys))
        .collect();
    assert_eq!(
        pages,
        [
            (GroupWord::Care, vec![Act::DrugByClock]),
            (GroupWord::Check, vec![Act::PadsOn]),
            (GroupWord::Run, vec![Act::Flag, Act::VoiceOff]),
        ]
    );
}

#[test]
fn the_last_marks_come_by_name_with_their_line_and_time() {
    let face = words().face(
        &View {
            last: vec![LastMark {
                seq: Seq(17),
                at: Ms(61_000),
                mark: Mark::Flow(FlowMark::ComprStop {
                    reason: Reason::RhythmCheck,
                }),
            }],
            ..view(cycle::Card::HandsOff)
        },
        &[],
    );
    assert_eq!(face.last[0].text, "Hands Off: check");
    assert_eq!((face.last[0].seq, face.last[0].at), (17, Ms(61_000)));
}

/// Two keys that mean the opposite are never told by one word.
#[test]
fn a_mark_is_told_by_what_it_says() {
    let drugs = [("adrenaline".to_owned(), "Epinephrine".to_owned())];
    let told = |act: Act| words().mark_text(&act.marks()[0], &drugs);
    for (act, text) in [
        (Act::ShockedHand, "Shock"),
        (Act::NoShockHand, "No Shock"),
        (Act::DrugByClock, "Epinephrine"),
        (Act::HandsOn, "Hands On"),
        (Act::DeviceRunning, "Device Running"),
        (Act::Stopped, "Hands Off: device stopped"),
        (Act::AirwayIn, "Airway: supraglottic"),
        (Act::TubeIn, "Airway: tube"),
        (Act::AirwayLost, "Airway Lost"),
        (Act::OverlayTrauma, "Trauma"),
        (Act::TraumaOff, "No Trauma"),
        (Act::SignsOfLife, "Life Signs"),
        (Act::SignsGone, "Signs Gone"),
        (Act::Charge, "Charge"),
        (Act::ChargeDumped, "Charge Dumped"),
        (Act::CupGood, "Cup Good"),
        (Act::Moving, "Moving"),
        (Act::SetDown, "Set Down"),
        (Act::PowerSwap, "Power Swap"),
        (Act::Swapped, "Swapped"),
        (Act::Shockable, "Shockable"),
        (Act::NotShockable, "Not Shockable"),
        (Act::ClassChild, "Patient: Child"),
        (Act::HeardCup, "Answered"),
    ] {
        assert_eq!(told(act), text, "{act:?}");
    }
}

fn due(word: DueWord, drug: Option<&str>, at: u64) -> Due {
    Due {
        word,
        drug: drug.map(str::to_owned),
        at: Ms(at),
    }
}

#[test]
fn the_hand_over_card_tells_what_is_known_and_leaves_out_what_is_not() {
    let card = HandOver {
        class: PatientClass::Child,
        arrest: Some(-360_000),
        basis: None,
        began: Ms(0),
        before_us: Some(PriorCare {
            cpr: Some(PriorCpr::Bystander),
            shocks: Some(1),
            ..PriorCare::default()
        }),
        state: StateWord::ByDevice,
        state_since: Ms(60_000),
        first_rhythm: None,
        rhythm: None,
        shocks: 3,
        last_shock: Some(Ms(180_000)),
        doses: vec![DosesGiven {
            key: "adrenaline".to_owned(),
            name: "Epinephrine".to_owned(),
            n: 2,
            last: Some(200_000),
        }],
        lines: 0,
        airway: Some(AirwayDevice::Sga),
        breaths: BreathMode::Continuous,
        co2: None,
        device_since: Some(Ms(60_000)),
        device_out: Some(Ms(400_000)),
        device_why: None,
        device_refused: Some("too_large".to_owned()),
        by: By::Mechanical,
        power_until: None,
        longest: Some(LongestPause {
            ms: Ms(14_350),
            at: Ms(40_000),
            reason: Reason::DeviceFit,
        }),
        pulses: vec![(Ms(90_000), Some(Ms(150_000)))],
        overlays: vec![(cycle::Overlay::Cold, Some(TempBand::Below30))],
        next: vec![
            due(DueWord::Check, None, 300_000),
            due(DueWord::Drug, Some("Epinephrine"), 380_000),
            due(DueWord::Drug, Some("Antiarrhythmic"), 400_000),
        ],
    };
    let face = words().face(
        &View {
            hand_over: Some(card),
            ..view(cycle::Card::DeviceContinuous)
        },
        &[],
    );
    let lines: Vec<_> = face
        .hand_over
        .into_iter()
        .map(|line| (line.name, line.text, line.since, line.until))
        .collect();
    let line = |name: &str, text: Option<&str>, since, until| {
        (name.to_owned(), text.map(str::to_owned), since, until)
    };
    assert_eq!(
        lines,
        [
            line("Patient", Some("Child"), None, None),
            line("Arrest", None, Some(-360_000), None),
            line("We began", None, Some(0), None),
            line("Before us", Some("bystander, 1 shock"), None, None),
            line("Now", Some("By Device"), Some(60_000), None),
            line("Shocks", Some("3, last"), Some(180_000), None),
            line("Epinephrine", Some("2, last"), Some(200_000), None),
            line("Airway", Some("supraglottic"), None, None),
            line("Breaths", Some("continuous"), None, None),
            line("Device since", None, Some(60_000), None),
            line("Device stopped, as marked", None, Some(400_000), None),
            line("Device not used", Some("Too Large"), None, None),
            line("Longest pause", Some("14.3 s fitting"), Some(40_000), None),
            line("Pulse back", Some("1:00"), Some(90_000), None),
            line("Situation", Some("cold, below 30\u{a0}°C"), None, None),
            line("Next: check", None, None, Some(Ms(300_000))),
            line("Next: Epinephrine", None, None, Some(Ms(380_000))),
            line("Next: Antiarrhythmic", None, None, Some(Ms(400_000))),
        ]
    );
}

#[test]
fn a_past_run_says_how_it_ended_and_leads_to_its_debrief() {
    let run = crate::PastRun {
        is_held: true,
        id: "one".to_owned(),
        when: "2026-11-25 08:30".to_owned(),
        length: Ms(3_723_000),
        outcome: None,
        is_sound: false,
        is_drill: false,
    };
    let drill = crate::PastRun {
        is_drill: true,
        is_held: false,
        is_sound: true,
        outcome: Some(cycle::mark::Outcome::HandedOver),
        ..run.clone()
    };
    let paper = words().past(&[run, drill], 0);
    let no_run = paper.parts[0].lines[1].note.as_deref();
    assert_eq!(no_run, Some("A drill: no patient. Handed Over"));
    let line = &paper.parts[0].lines[0];
    assert_eq!(line.text, "2026-11-25 08:30");
    assert_eq!(line.value.as_deref(), Some("1:02:03"));
    let damaged = "Without an end. Protected. The file was changed or is damaged";
    assert_eq!(line.note.as_deref(), Some(damaged));
    let id = "one".to_owned();
    assert_eq!(line.go, Some(crate::Go::Run { id }));
    let all = &paper.parts[1].lines[0];
    assert_eq!(all.go, Some(crate::Go::Keep {}));
    // Where nothing is kept, nothing can be handed in.
    assert_eq!(words().past(&[], 0).parts.len(), 1);
    // A file that cannot be read is no run, and not passed over in silence.
    let paper = words().past(&[], 2);
    let lines = &paper.parts[1].lines;
    let told = "Files that cannot be read as runs. They are not handed in and stay as they are: 2";
    assert_eq!(lines[0].text, told);
    assert_eq!(
        (&lines[0].go, &lines[1].go),
        (&None, &Some(crate::Go::Keep {}))
    );
}

#[test]
fn a_mark_is_told_by_its_key_and_a_drug_by_the_services_name() {
    let drugs = [("adrenaline".to_owned(), "Epinephrine".to_owned())];
    let told = |act: Act| words().mark_text(&act.marks().remove(0), &drugs);
    assert_eq!(told(Act::HandsOffCheck), "Hands Off: check");
    assert_eq!(told(Act::DrugByClock), "Epinephrine");
    // A key that no protocol of the run names is told as it stands.
    assert_eq!(told(Act::DrugByShocks), "Drug: antiarrhythmic");
    // What a way into a run marks has the words of the mark.
    assert_eq!(told(Act::BeganEarlier), words().word("mark", "arrest"));
}

#[test]
fn what_a_device_does_not_tell_is_said_to_be_so() {
    let text = cycle::Protocol::example("example-adult").expect("example");
    let protocol = cycle::Protocol::parse(text.as_bytes()).expect("protocol");
    let found = crate::Found {
        kept: Err("no space is left".to_owned()),
        free_mb: None,
        silent: None,
        pack: vec!["clip off10 is missing".to_owned()],
        levels: cycle::Levels::default(),
        hash: "00".to_owned(),
    };
    let paper = words().ready(&protocol, &found, None);
    let told: Vec<(&str, Option<&str>, Option<&str>)> = paper.parts[0]
        .lines
        .iter()
        .map(|line| {
            (
                line.text.as_str(),
                line.value.as_deref(),
                line.note.as_deref(),
            )
        })
        .collect();
    assert_eq!(
        told,
        [
            ("A run could not be kept", None, Some("no space is left")),
            ("Free space", Some("not told here"), None),
            ("clip off10 is missing", None, None),
            ("Protocol", Some(protocol.name.as_str()), Some("00")),
        ]
    );
    let kit = paper.parts.last().expect("kit");
    assert_eq!(kit.lines.len(), protocol.kit_list.len());
}

/// What a page of settings hands back is what its keys say.
#[test]
fn levels_go_up_and_down_by_steps_apart_and_together() {
    let now = cycle::Levels {
        beat_db: 0,
        breath_db: 6,
        voice_db: 24,
    };
    let paper = words().settings(&[], ("day", "unheard"), ("", &[]), ("", &[]), now);
    let lines: Vec<(&str, Option<&str>, String)> = paper.parts[2]
        .lines
        .iter()
        .map(|line| {
            let does = match line.go.as_ref().expect("a key") {
                crate::Go::Choose { value, on, .. } => format!("{value} {on}"),
                crate::Go::Step { value, .. } => value.clone(),
                crate::Go::Listen {} => "listen".to_owned(),
                other @ (crate::Go::Open { .. }
                | crate::Go::Run { .. }
                | crate::Go::Keep { .. }
                | crate::Go::Draft {}
                | crate::Go::Listening {}) => {
                    panic!("{other:?}")
                }
            };
            (line.text.as_str(), line.value.as_deref(), does)
        })
        .collect();
    let line = |text, value, does: &str| (text, value, does.to_owned());
    assert_eq!(
        lines,
        [
            line("Quiet Room", None, "12 12 12 false"),
            line("Vehicle", None, "0 0 0 false"),
            // No step louder than full, none softer than the lowest, and none of all where one is at each end.
            line("Beat: softer", Some("full"), "3 6 24"),
            line("Breath: louder", Some("6 dB below full"), "0 3 24"),
            line("Breath: softer", Some("6 dB below full"), "0 9 24"),
            line("Voice: louder", Some("24 dB below full"), "0 6 21"),
            line("Listen", None, "listen"),
        ]
    );
    for (_, _, does) in &lines[2..6] {
        assert!(crate::levels_of(does).is_some(), "{does}");
    }
    let quiet = cycle::mark::Preset::QuietRoom.levels();
    let paper = words().settings(&[], ("day", "unheard"), ("", &[]), ("", &[]), quiet);
    let on = paper.parts[2]
        .lines
        .iter()
        .filter(|line| matches!(&line.go, Some(crate::Go::Choose { on: true, .. })));
    assert_eq!(
        on.map(|line| line.text.as_str()).collect::<Vec<_>>(),
        ["Quiet Room"]
    );
}

#[test]
fn all_levels_together_stay_as_far_apart_as_they_are() {
    let of = |beat_db, breath_db, voice_db| cycle::Levels {
        beat_db,
        breath_db,
        voice_db,
    };
    // From 3, 6 and 12 dB below full there is room for 3 dB up and for 12 down.
    assert_eq!(of(3, 6, 12).together(6), of(0, 3, 9));
    assert_eq!(of(3, 6, 12).together(-3), of(6, 9, 15));
    assert_eq!(of(3, 6, 12).together(-30), of(15, 18, 24));
    assert_eq!(of(0, 6, 24).together(3), of(0, 6, 24));
    assert_eq!(of(0, 6, 24).together(-3), of(0, 6, 24));
}

#[test]
fn the_ready_check_says_first_that_nothing_is_heard_and_what_mends_it() {
    let text = cycle::Protocol::example("example-adult").expect("example");
    let protocol = cycle::Protocol::parse(text.as_bytes()).expect("protocol");
    let first = |silent: Option<&str>| {
        let found = crate::Found {
            kept: Ok(12),
            free_mb: Some(48_200),
            silent: silent.map(str::to_owned),
            pack: vec![],
            levels: cycle::Levels::default(),
            hash: "00".to_owned(),
        };
        let paper = words().ready(&protocol, &found, None);
        let line = paper.parts[0].lines[0].clone();
        (line.text, line.note)
    };
    let why = "no output device was found; connect one";
    assert_eq!(
        first(Some(why)),
        ("No sound".to_owned(), Some(words().fault(why)))
    );
    assert_eq!(first(Some("")), ("No sound".to_owned(), None));
    assert_eq!(first(None).0, "A mark is on the disk within");
}
