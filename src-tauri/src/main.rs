//! The app's process.
#![cfg_attr(not(debug_assertions), windows_subsystem = "windows")]

fn main() {
    carrybeat_app::run();
}
