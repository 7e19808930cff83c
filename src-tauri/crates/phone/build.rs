//! Tells Tauri where the Kotlin of this plugin lies. The page asks it nothing: it has no commands.

fn main() -> Result<(), Box<dyn std::error::Error>> {
    tauri_plugin::Builder::new(&[])
        .android_path("android")
        .try_build()?;
    Ok(())
}
