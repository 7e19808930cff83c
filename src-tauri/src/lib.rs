//! The shell: it opens the window, starts the conductor and carries messages between the two.

mod afterwards;
mod board;
mod commands;
mod drafting;
mod drills;
mod error;
mod lifecycle;
mod listening;
mod page;
mod papers;
mod tongues;
mod window;

/// Runs the app until its window is closed.
#[cfg_attr(mobile, tauri::mobile_entry_point)]
pub fn run() {
    let builder = tauri::Builder::default();
    #[cfg(target_os = "ios")]
    let builder = {
        use tauri::Manager as _;

        let deaths = page::Deaths::default();
        builder.on_web_content_process_terminate(move |webview| {
            page::lost(webview.app_handle(), &deaths, || {
                // A page that cannot be loaded is not there; the sound says that the run goes on.
                webview.reload().unwrap_or_default();
            });
        })
    };
    let outcome = builder
        .plugin(phone::init())
        .setup(lifecycle::set_up)
        .invoke_handler(tauri::generate_handler![
            commands::subscribe,
            commands::press,
            commands::enter,
            commands::undo,
            commands::end_held,
            commands::touches_ignored,
            commands::cover,
            commands::page_clock,
            commands::put_away,
            commands::set_right,
            commands::earlier,
            commands::remove,
            commands::listen,
            commands::choose_class,
            commands::choose,
            commands::paper,
            afterwards::debrief,
            afterwards::strip,
            afterwards::carry_over,
            afterwards::review,
            afterwards::change,
            afterwards::keep,
            afterwards::hold,
            afterwards::delete_runs,
            afterwards::export_run,
            afterwards::hand_in,
            listening::listening_begin,
            listening::listening_play,
            listening::listening_answer,
            listening::listening_stop,
            listening::listening_export,
            drafting::draft_page,
            drafting::draft_open,
            drafting::draft_change,
            drafting::draft_save,
            drafting::draft_minute,
            drafting::draft_play,
            drills::drills,
            drills::drill_due,
            drills::drill_over,
            drills::drill_sheet,
            drills::drill_look,
            drills::drill,
            drills::real_patient,
        ])
        .build(tauri::generate_context!());
    match outcome {
        Ok(app) => app.run(|app, event| {
            lifecycle::happened(app, &event);
        }),
        Err(error) => {
            lifecycle::complain(&error);
            std::process::exit(1);
        }
    }
}
