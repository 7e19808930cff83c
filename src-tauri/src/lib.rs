//! The shell: it opens the window, starts the conductor and carries messages between the two.

mod board;
mod commands;
mod error;
mod lifecycle;
mod papers;

/// Runs the app until its window is closed.
#[cfg_attr(mobile, tauri::mobile_entry_point)]
pub fn run() {
    let outcome = tauri::Builder::default()
        .setup(lifecycle::set_up)
        .invoke_handler(tauri::generate_handler![
            commands::subscribe,
            commands::press,
            commands::enter,
            commands::undo,
            commands::end_held,
            commands::touches_ignored,
            commands::page_clock,
            commands::put_away,
            commands::set_right,
            commands::earlier,
            commands::remove,
            commands::listen,
            commands::choose_class,
            commands::choose,
            commands::paper,
        ])
        .build(tauri::generate_context!());
    match outcome {
        Ok(app) => app.run(|app, event| {
            if let tauri::RunEvent::Exit = event {
                lifecycle::close(app);
            }
        }),
        Err(error) => {
            lifecycle::complain(&error);
            std::process::exit(1);
        }
    }
}
