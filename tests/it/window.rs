//! Wiring of the real window: a press reaches the record and the words on the screen.

use std::time::Duration;

use crate::rig::{Crew, Rig, SoundServer, Told};

#[test]
fn a_press_reaches_the_record_and_the_screen() -> Told<()> {
    let rig = Rig::new("window")?;
    let _sound = SoundServer::start(&rig)?;
    let mut crew = Crew::open(&rig)?;
    crew.press("Start by Hand")?;
    crew.see("By Hand", Duration::from_secs(5))?;
    // The keys lie in one place: a second touch there within 600 ms is a finger that slipped.
    std::thread::sleep(Duration::from_secs(1));
    crew.press("Hands Off")?;
    crew.see("off the chest", Duration::from_secs(5))?;
    let touches = crew.touches()?;
    assert_eq!(touches.len(), crew.taps());
    let records = rig.records()?;
    let [record] = records.as_slice() else {
        return Err(format!("one record is wanted, there are {records:?}"));
    };
    let text = std::fs::read_to_string(record).map_err(|e| e.to_string())?;
    for mark in ["\"compr_start\"", "\"compr_stop\""] {
        assert!(text.contains(mark), "no {mark} in the record:\n{text}");
    }
    crew.close()
}
