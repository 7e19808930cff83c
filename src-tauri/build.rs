//! Lists the page's commands, so that each needs its own permission.

fn main() -> Result<(), Box<dyn std::error::Error>> {
    // The page is embedded in the program: a page built anew is a program built anew.
    println!("cargo:rerun-if-changed=../ui/dist");
    let commands = tauri_build::AppManifest::new().commands(&[
        "subscribe",
        "press",
        "enter",
        "undo",
        "end_held",
        "touches_ignored",
        "cover",
        "page_clock",
        "put_away",
        "set_right",
        "earlier",
        "remove",
        "listen",
        "choose_class",
        "choose",
        "paper",
        "debrief",
        "strip",
        "carry_over",
        "review",
        "change",
        "keep",
        "hold",
        "delete_runs",
        "export_run",
        "hand_in",
        "listening_begin",
        "listening_play",
        "listening_answer",
        "listening_stop",
        "listening_export",
        "drills",
        "drill_due",
        "drill_over",
        "drill_sheet",
        "drill_look",
        "drill",
        "real_patient",
        "draft_page",
        "draft_open",
        "draft_change",
        "draft_save",
        "draft_minute",
        "draft_play",
    ]);
    tauri_build::try_build(tauri_build::Attributes::new().app_manifest(commands))?;
    Ok(())
}
