//! Wiring of the real window: a press reaches the record and the words on the screen.

use std::time::Duration;

use crate::rig::{Crew, Rig, SoundServer, Told};

#[test]
fn a_press_reaches_the_record_and_the_screen() -> Told<()> {
    let rig = Rig::among("window")?;
    let _sound = SoundServer::start(&rig)?;
    let mut crew = Crew::open(&rig)?;
    crew.press("Start by Hand")?;
    crew.see("By Hand", Duration::from_secs(5))?;
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

/// The rule: the debrief opens on the pauses.
#[test]
fn a_run_that_is_over_opens_its_debrief_and_what_is_carried_over() -> Told<()> {
    let rig = Rig::new("after")?;
    let _sound = SoundServer::start(&rig)?;
    let mut crew = Crew::open(&rig)?;
    crew.press("Start by Hand")?;
    std::thread::sleep(Duration::from_secs(2));
    crew.press("Hands Off")?;
    let off = crew.touched()?;
    crew.press_at("Hands On", off + Duration::from_secs(3))?;
    std::thread::sleep(Duration::from_secs(2));
    crew.press("Mark")?;
    crew.hold("Hold to End", Duration::from_millis(1_900))?;
    crew.press("Handed Over")?;
    crew.see("Handed Over", Duration::from_secs(5))?;
    crew.press("Debrief")?;
    // One pause of three seconds, for which nobody has said why.
    crew.see("The longest pauses", Duration::from_secs(8))?;
    crew.see("3 s", Duration::from_secs(2))?;
    // It is not sealed yet: nobody is asked for what could not be kept.
    assert!(!crew.can_press("Why?")?);
    crew.see(
        "It can be reviewed a minute after its end",
        Duration::from_secs(2),
    )?;
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
    crew.press("Close")?;
    crew.press("New Run")?;
    crew.press("Menu")?;
    crew.press("Past Runs")?;
    open_the_one_run(&crew)?;
    crew.see("nothing was amended", Duration::from_secs(2))?;
    crew.press("Why?")?;
    crew.see("Why off the chest?", Duration::from_secs(2))?;
    crew.press("Airway")?;
    crew.see("airway", Duration::from_secs(5))?;
    crew.see("amendments not sealed yet: 1", Duration::from_secs(5))?;
    crew.press_far("Review")?;
    crew.see("Last change: added", Duration::from_secs(5))?;
    crew.press("Take Back")?;
    crew.see("with changes since: 2", Duration::from_secs(5))?;
    assert!(!crew.can_press("Take Back")?);
    crew.press("End Review")?;
    crew.see("revision 2, sealed", Duration::from_secs(5))?;
    crew.press("Close")?;
    what_is_kept(&rig, &mut crew)?;
    crew.close()
}

/// From a debrief: a copy of each kind, protection, hand-in, and the end of the run's file.
fn what_is_kept(rig: &Rig, crew: &mut Crew) -> Told<()> {
    let out = rig.file("home").join("Carrybeat");
    crew.see("The longest pauses", Duration::from_secs(8))?;
    crew.press_far("Keep, Export")?;
    crew.see("Not protected", Duration::from_secs(5))?;
    for (key, ending) in [
        ("PDF", "-debrief.pdf"),
        ("Tables, CSV", "-tables"),
        ("Carry Over, CSV", "-carry-over"),
    ] {
        crew.press_far(key)?;
        crew.see(ending, Duration::from_secs(10))?;
    }
    let written = names(&out)?;
    assert_eq!(written.len(), 3, "{written:?}");
    let pdf = written.iter().find(|name| name.ends_with("-debrief.pdf"));
    let pdf = std::fs::read(out.join(pdf.ok_or("no page")?)).map_err(|e| e.to_string())?;
    assert!(pdf.starts_with(b"%PDF-"));
    // Protected, it cannot be deleted.
    crew.press_far("Protect Run")?;
    crew.see("Protected: it is not deleted", Duration::from_secs(5))?;
    assert!(!crew.can_press("Hold to Delete")?);
    crew.press_far("Lift Protection")?;
    crew.see("Not protected", Duration::from_secs(5))?;
    crew.press("Close")?;
    crew.press("Close")?;
    // All that waits goes out as one file, and nothing waits after it.
    crew.press_far("All Runs: Hand In")?;
    crew.see("Runs to be handed in: 1", Duration::from_secs(5))?;
    crew.press_far("Hand In")?;
    crew.see(".handin", Duration::from_secs(10))?;
    crew.see("Every run is handed in", Duration::from_secs(5))?;
    assert_eq!(names(&out)?.len(), 4);
    crew.press("Close")?;
    open_the_one_run(crew)?;
    crew.press_far("Keep, Export")?;
    crew.see("Not protected", Duration::from_secs(5))?;
    let before = rig.records()?.len();
    crew.hold_far("Hold to Delete", Duration::from_millis(1_900))?;
    crew.see("Delete this run?", Duration::from_secs(2))?;
    crew.press("Delete")?;
    crew.see("Deleted", Duration::from_secs(5))?;
    assert_eq!((before, rig.records()?.len()), (1, 0));
    Ok(())
}

fn open_the_one_run(crew: &Crew) -> Told<()> {
    crew.see("Handed Over", Duration::from_secs(5))?;
    crew.script(
        "[...document.querySelectorAll('button')]
            .find((key) => key.innerText.includes('Handed Over')).click()",
    )?;
    crew.see("The longest pauses", Duration::from_secs(8))
}

fn names(folder: &std::path::Path) -> Told<Vec<String>> {
    let found = std::fs::read_dir(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    let names = found.map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()));
    names
        .collect::<std::io::Result<_>>()
        .map_err(|e| e.to_string())
}
