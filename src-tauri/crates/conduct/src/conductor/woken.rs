//! How soon the screen says what the sound's own thread noticed: in tokio's paused time, which goes on only when
//! nobody has anything to do.

use std::{fs, time::Duration};

use cycle::{Banner, SoundNews, StateWord};
use tokio::{
    sync::mpsc::{self, UnboundedReceiver},
    time::Instant,
};

use super::{Arrived, Asked, Conductor, faked::faked};
use crate::{
    Ask, FileStore, PhoneNews, Shown,
    clock::uptime_ms,
    fakes::{FakePhone, FakeSpeaker},
};

/// The first screen for which `is` holds, and after how long.
async fn until(
    shown: &mut UnboundedReceiver<Shown>,
    is: impl Fn(&Shown) -> bool,
) -> (Shown, Duration) {
    let from = Instant::now();
    loop {
        let next = shown.recv().await.unwrap();
        if is(&next) {
            return (next, from.elapsed());
        }
    }
}

fn has(shown: &Shown, banner: Banner) -> bool {
    shown.view.banners.contains(&banner)
}

/// The rule: a loss is told within 1 s, of which the sound's own watch takes up to 0.6 s to notice it.
#[tokio::test(start_paused = true)]
async fn sound_lost_and_back_are_on_the_screen_before_any_time_passes() {
    let folder = std::env::temp_dir().join(format!("carrybeat-woken-{}", std::process::id()));
    drop(fs::remove_dir_all(&folder));
    let (speaker, phone) = (FakeSpeaker::new(), FakePhone::new());
    let (show, mut shown) = mpsc::unbounded_channel();
    let show = Box::new(move |s| show.send(s).unwrap());
    let parts = faked(&folder, (&speaker, &phone), show);
    let store = FileStore::at(&folder);
    let made = store.make();
    let house = Conductor::new(parts, (store, made), None);
    let (asks, inbox) = mpsc::unbounded_channel();
    let ask = |ask| {
        let at_ms = uptime_ms();
        asks.send(Arrived { at_ms, ask }).unwrap();
    };
    let crew = async {
        ask(Asked::Page(Ask::Phone(PhoneNews::Begin {
            ago_ms: 0,
            by_key: false,
        })));
        until(&mut shown, |s| s.view.state == StateWord::ByHand).await;
        for (news, is_lost) in [(SoundNews::Lost, true), (SoundNews::Back, false)] {
            // The conductor is asleep by then, for some tenths of a second or more.
            tokio::time::sleep(Duration::from_millis(1)).await;
            while shown.try_recv().is_ok() {}
            speaker.tell(news);
            let is_told = |s: &Shown| has(s, Banner::NoSound) == is_lost;
            let (_, after) = until(&mut shown, is_told).await;
            assert_eq!(after, Duration::ZERO, "{news:?}");
        }
        let (done, _closed) = std::sync::mpsc::channel();
        ask(Asked::Close(done));
    };
    tokio::join!(house.live(inbox), crew);
    fs::remove_dir_all(&folder).unwrap();
}
