//! Lists the page's commands, so that each needs its own permission.

#[expect(
    clippy::print_stdout,
    reason = "a build script speaks to cargo on its output"
)]
fn main() {
    // The page is embedded in the program: a page built anew is a program built anew.
    println!("cargo:rerun-if-changed=../ui/dist");
    let commands = tauri_build::AppManifest::new().commands(&[
        "subscribe",
        "press",
        "undo",
        "end_held",
        "touches_ignored",
        "page_clock",
        "put_away",
    ]);
    if let Err(error) =
        tauri_build::try_build(tauri_build::Attributes::new().app_manifest(commands))
    {
        // A build script has no other voice than its exit.
        panic!("tauri.conf.json or a capability cannot be used: {error:#}");
    }
}
