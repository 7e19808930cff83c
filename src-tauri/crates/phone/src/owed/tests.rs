//! What is asked of the phone, and what is owed when it does not answer.

use std::cell::Cell;

use conduct::FeltPulse;

use super::*;

fn hold() -> Wish {
    Wish::Hold {
        lang: "en-US".into(),
        volume_pct: None,
    }
}

fn feel(in_ms: u32) -> Wish {
    Wish::Feel(vec![FeltPulse { in_ms, len_ms: 60 }])
}

fn share(name: &str) -> Wish {
    Wish::Share(vec![name.into()])
}

/// All at one moment.
fn wished(wishes: Vec<Wish>) -> Vec<Wished> {
    let at_once = |wish| Wished { wish, at_ms: 1000 };
    wishes.into_iter().map(at_once).collect()
}

fn wishes(of: Vec<Wished>) -> Vec<Wish> {
    of.into_iter().map(|wished| wished.wish).collect()
}

/// What is asked of a phone that answers at once, or does not; and what is owed then.
fn asked(answers: bool, owed: Vec<Wish>, new: Vec<Wish>) -> (Vec<Wish>, Vec<Wish>) {
    let mut asked = Vec::new();
    let ask = |wish: &Wish| {
        asked.push(wish.clone());
        answers
    };
    let owed = done(wished(owed), wished(new), || 1000, ask);
    (asked, wishes(owed))
}

#[test]
fn a_wish_that_another_of_its_kind_follows_is_left_out() {
    let all = vec![
        hold(),
        feel(10),
        share("a"),
        feel(20),
        Wish::LetGo,
        share("a"),
        Wish::Brightness(None),
    ];
    let left = vec![
        share("a"),
        feel(20),
        Wish::LetGo,
        share("a"),
        Wish::Brightness(None),
    ];
    assert_eq!(due(wished(all)), wished(left));
    // The other way round the run is held.
    let all = wished(vec![Wish::LetGo, hold()]);
    assert_eq!(due(all), wished(vec![hold()]));
}

#[test]
fn a_hold_that_failed_is_asked_again_when_the_app_is_in_front() {
    let (all, owed) = asked(false, vec![], vec![hold()]);
    assert_eq!((all, &owed), (vec![hold()], &vec![hold()]));
    // In front again nothing is new.
    let (all, owed) = asked(true, owed, vec![]);
    assert_eq!((all, owed), (vec![hold()], vec![]));
}

#[test]
fn a_hold_that_failed_is_not_done_once_the_run_is_over() {
    let (_, owed) = asked(false, vec![], vec![hold(), Wish::Screen(true)]);
    assert_eq!(owed, [hold(), Wish::Screen(true)]);
    let (all, owed) = asked(true, owed, vec![Wish::LetGo]);
    assert_eq!(all, [Wish::Screen(true), Wish::LetGo]);
    assert_eq!(owed, []);
    // A let go is owed as well: the phone is not held for ever.
    let (_, owed) = asked(false, vec![], vec![Wish::LetGo, Wish::Screen(false)]);
    assert_eq!(owed, [Wish::LetGo, Wish::Screen(false)]);
}

#[test]
fn pulses_and_shares_that_failed_are_not_owed() {
    let bright = Wish::Brightness(Some(12));
    let all = vec![feel(10), share("a"), bright.clone(), Wish::Motion(true)];
    let (all_asked, owed) = asked(false, vec![], all.clone());
    assert_eq!(all_asked, all);
    assert_eq!(owed, [bright, Wish::Motion(true)]);
}

#[test]
fn one_that_failed_keeps_none_of_the_others_back() {
    let all = vec![hold(), Wish::Screen(true), feel(10)];
    let owed = done(vec![], wished(all), || 1000, |wish| *wish != hold());
    assert_eq!(wishes(owed), [hold()]);
}

/// The beat is felt where it sounds, whatever the phone was busy with before.
#[test]
fn pulses_that_waited_for_another_wish_are_felt_in_their_place() {
    let now = Cell::new(1010);
    let mut felt = Vec::new();
    let all = vec![hold(), Wish::Screen(true), feel(10), feel(545)];
    let ask = |wish: &Wish| {
        // Each of them takes so long.
        now.set(now.get() + 150);
        felt.extend(matches!(wish, Wish::Feel(_)).then(|| wish.clone()));
        true
    };
    done(vec![], wished(all), || now.get(), ask);
    // Wished at 1000 for 1545, asked at 1310.
    assert_eq!(felt, [feel(235)]);
    // One whose moment has passed is not felt at another.
    let mut felt = Vec::new();
    let ask = |wish: &Wish| {
        felt.push(wish.clone());
        true
    };
    done(vec![], wished(vec![feel(10)]), || 1500, ask);
    assert_eq!(felt, [Wish::Feel(vec![])]);
}
