//! The pictures of the documents, taken from the real window: `docs/pictures/*.png`.

use std::{fs, time::Duration};

use crate::rig::{Crew, Rig, SoundServer, Told, root};

/// The key to press, how long to wait after it, and the picture to take then. All invented.
const STEPS: &[(&str, u64, Option<&str>)] = &[
    ("Start by Hand", 9_000, Some("by-hand")),
    ("Hands Off", 14_000, Some("hands-off")),
    ("Hands On", 4_000, None),
    ("Airway In", 3_000, None),
    ("Mark", 1_500, Some("marks")),
    ("Close", 2_000, None),
    ("Fit Device", 3_000, Some("fitting")),
    ("Hands Off", 5_000, None),
    ("Device Running", 3_000, Some("cup")),
    ("Cup Good", 9_000, Some("by-device")),
    ("Moving", 5_000, Some("moving")),
    ("Set Down", 2_500, None),
    ("Cup Good", 45_000, Some("check")),
];

#[test]
#[ignore = "writes docs/pictures"]
fn the_pictures_of_the_documents() -> Told<()> {
    let rig = Rig::new("pictures")?;
    let _sound = SoundServer::start(&rig)?;
    let mut crew = Crew::open(&rig)?;
    std::thread::sleep(Duration::from_secs(6));
    keep(&crew, "start")?;
    for (key, wait_ms, picture) in STEPS {
        crew.press(key)?;
        std::thread::sleep(Duration::from_millis(*wait_ms));
        if let Some(name) = picture {
            keep(&crew, name)?;
        }
    }
    crew.close()
}

fn keep(crew: &Crew, name: &str) -> Told<()> {
    let path = root().join("docs/pictures").join(format!("{name}.png"));
    fs::write(&path, crew.picture()?).map_err(|e| format!("{}: {e}", path.display()))
}
