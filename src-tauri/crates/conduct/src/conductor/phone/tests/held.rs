//! For how long the phone is held, and its screen; what is wished anew of one that was out of reach.

use super::*;

fn hold() -> Wish {
    Wish::Hold {
        lang: "en-GB".to_owned(),
        volume_pct: Some(100),
    }
}

#[test]
fn a_phone_is_held_for_a_run_and_its_screen_until_the_seal() {
    let mut scene = Scene::new("held");
    assert_eq!(scene.phone.take(), []);
    let now = Ms(uptime_ms());
    scene.house.start(Act::StartByHand, Way::Hand, (now, now));
    scene.wake();
    assert_eq!(scene.phone.take(), [hold(), Wish::Screen(true)]);
    scene.pass(3);
    assert_eq!(scene.phone.take(), []);
    scene.act(Act::EndStopped);
    // The screen stays over the lock: the key that takes the end back is on it, and so is the hand-over card.
    assert_eq!(scene.phone.take(), [Wish::LetGo]);
    assert!(scene.last().view.undo);
    // An end by mistake is taken back.
    scene.undo();
    assert_eq!(scene.phone.take(), [hold()]);
    scene.act(Act::EndStopped);
    assert_eq!(scene.phone.take(), [Wish::LetGo]);
    // It is sealed a second after its end here.
    scene.pass(2);
    assert!(!scene.last().view.undo);
    assert_eq!(scene.phone.take(), [Wish::Screen(false)]);
    scene.house.close();
    assert_eq!(scene.phone.take(), []);
    drop(scene.lines());
}

#[test]
fn a_run_that_is_put_away_gives_the_screen_back_at_once() {
    let mut scene = Scene::started("put-away");
    scene.act(Act::EndStopped);
    scene.phone.take();
    scene.house.asked(uptime_ms(), Ask::PutAway);
    scene.wake();
    assert_eq!(scene.phone.take(), [Wish::Screen(false)]);
    drop(scene.lines());
}

#[test]
fn an_app_that_is_closed_in_a_run_gives_all_back() {
    let mut scene = Scene::started("closed");
    scene.phone.take();
    scene.house.close();
    assert_eq!(scene.phone.take(), [Wish::LetGo, Wish::Screen(false)]);
    drop(scene.lines());
}

/// Colours that change after the end change the brightness as well, as long as the card is on the screen.
#[test]
fn the_screen_is_as_bright_as_wished_until_it_is_given_back() {
    let mut scene = Scene::started("bright-after");
    scene.act(Act::EndStopped);
    scene.phone.take();
    scene.house.asked(uptime_ms(), Ask::Theme(Theme::Night));
    scene.wake();
    assert_eq!(scene.phone.take(), [Wish::Brightness(Some(12))]);
    scene.pass(2);
    let back = [Wish::Screen(false), Wish::Brightness(None)];
    assert_eq!(scene.phone.take(), back);
    scene.house.asked(uptime_ms(), Ask::Theme(Theme::Glare));
    scene.wake();
    assert_eq!(scene.phone.take(), []);
    drop(scene.lines());
}

#[test]
fn a_phone_that_does_not_answer_is_said_before_a_run_and_in_it() {
    let mut scene = Scene::new("silent");
    let why = "no plugin; start the app again";
    let silent = Ask::PhoneSilent(why.to_owned());
    scene.house.asked(uptime_ms(), silent.clone());
    scene.wake();
    let is_said = |scene: &Scene| scene.last().faults.contains(&why.to_owned());
    assert_eq!(scene.banners(), ["not_held"]);
    assert!(is_said(&scene));
    let now = Ms(uptime_ms());
    scene.house.start(Act::StartByHand, Way::Hand, (now, now));
    scene.wake();
    assert_eq!(scene.banners(), ["not_held"]);
    assert!(is_said(&scene));
    // Said again it is nothing new.
    scene.house.asked(uptime_ms(), silent);
    scene.wake();
    let lines = scene.lines();
    let around = of_kind(&lines, "around");
    assert_eq!(around.len(), 1);
    let told = (&around[0]["d"]["what"], &around[0]["d"]["on"]);
    assert_eq!(told, (&"held".into(), &false.into()));
}

/// If sound stops for any reason, screen and vibration say so within 1 s.
#[test]
fn a_lost_sound_is_felt_at_once_when_the_app_is_back() {
    for back in [Around::Front { on: true }, Around::Page { on: true }] {
        let name = if back == (Around::Page { on: true }) {
            "back-page"
        } else {
            "back-front"
        };
        let mut scene = Scene::started(name);
        scene.tell(&[PhoneNews::Around(Around::Front { on: false })]);
        scene.speaker.tell(SoundNews::Lost);
        scene.wake();
        assert_eq!(scene.felt(), Some(true));
        scene.pass(1);
        assert_eq!(scene.felt(), None, "it is told on every ten seconds");
        scene.tell(&[PhoneNews::Around(back)]);
        assert_eq!(scene.felt(), Some(true), "{back:?}");
        scene.pass(1);
        assert_eq!(scene.felt(), None, "{back:?}: once");
        // What is heard again is not felt any more.
        scene.speaker.tell(SoundNews::Back);
        scene.tell(&[PhoneNews::Around(back)]);
        assert_eq!(scene.felt(), Some(false), "{back:?}");
        drop(scene.lines());
    }
}
