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

/// Source: the project's page of debrief displays: the debrief opens on the pauses.
#[test]
fn a_run_that_is_over_opens_its_debrief_and_what_is_carried_over() -> Told<()> {
    let rig = Rig::new("after")?;
    let _sound = SoundServer::start(&rig)?;
    let mut crew = Crew::open(&rig)?;
    crew.press("Start by Hand")?;
    std::thread::sleep(Duration::from_secs(2));
    crew.press("Hands Off")?;
    std::thread::sleep(Duration::from_secs(3));
    crew.press("Hands On")?;
    std::thread::sleep(Duration::from_secs(2));
    crew.press("Mark")?;
    crew.hold("Hold to End", Duration::from_millis(1_900))?;
    crew.press("Handed Over")?;
    crew.see("Handed Over", Duration::from_secs(5))?;
    crew.press("Debrief")?;
    // One pause of three seconds, for which nobody has said why.
    crew.see("The longest pauses", Duration::from_secs(8))?;
    crew.see("3 s", Duration::from_secs(2))?;
    assert!(crew.can_press("Why?")?);
    let drawn = crew.script("return document.querySelectorAll('.strip svg text').length")?;
    assert!(drawn.as_u64().is_some_and(|n| n > 0), "the strip: {drawn}");
    crew.see("Not sealed yet", Duration::from_secs(2))?;
    crew.press("Carry Over")?;
    crew.see("1 of", Duration::from_secs(8))?;
    crew.see("0 typed", Duration::from_secs(2))?;
    crew.press("Typed")?;
    crew.see("1 typed", Duration::from_secs(2))?;
    // Put away, the run is sealed; its debrief is opened once more, and the pause gets its reason.
    crew.press("Close")?;
    // A second touch in one place within 600 ms is taken for the first one's.
    std::thread::sleep(Duration::from_millis(700));
    crew.press("Close")?;
    crew.press("New Run")?;
    crew.press("Menu")?;
    crew.press("Past Runs")?;
    crew.see("Handed Over", Duration::from_secs(5))?;
    crew.script(
        "[...document.querySelectorAll('button')]
            .find((key) => key.innerText.includes('Handed Over')).click()",
    )?;
    crew.see("The longest pauses", Duration::from_secs(8))?;
    crew.see("as amended, revision 1", Duration::from_secs(2))?;
    crew.press("Why?")?;
    crew.see("Why off the chest?", Duration::from_secs(2))?;
    crew.press("airway")?;
    crew.see("airway", Duration::from_secs(5))?;
    crew.see("amendments not sealed yet: 1", Duration::from_secs(5))?;
    crew.script(
        "[...document.querySelectorAll('button')]
            .find((key) => key.innerText.trim().startsWith('Review')).scrollIntoView({ block: 'center' })",
    )?;
    crew.press("Review")?;
    crew.see("Last change: added", Duration::from_secs(5))?;
    crew.press("Take Back")?;
    crew.see("with changes since: 2", Duration::from_secs(5))?;
    assert!(!crew.can_press("Take Back")?);
    crew.press("End Review")?;
    crew.see("revision 2. Nothing waits", Duration::from_secs(5))?;
    crew.close()
}
