//! A window of the app's size with an empty page and nothing behind it: what the app's own use of the
//! processor is held against (`bench/idle.sh`).

use tauri::{WebviewUrl, WebviewWindowBuilder};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut context = tauri::generate_context!();
    context.config_mut().app.windows.clear();
    tauri::Builder::default()
        .setup(|app| {
            let page = WebviewUrl::External("about:blank".parse()?);
            WebviewWindowBuilder::new(app, "empty", page)
                .title("Empty")
                .inner_size(390.0, 844.0)
                .build()?;
            Ok(())
        })
        .run(context)?;
    Ok(())
}
