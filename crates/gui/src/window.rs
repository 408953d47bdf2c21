//! Opening the real window.

use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use egui::ViewportBuilder;

use crate::app::{App, Start};
use crate::dialogs::NativeDialogs;

const ICON: &[u8] = include_bytes!("../../../assets/package/keepside.png");

/// Why there is no window.
#[derive(Debug, thiserror::Error)]
pub enum StartError {
    /// Nothing to draw on.
    #[error(
        "there is no display here (neither WAYLAND_DISPLAY nor DISPLAY is set); on the command line use keepside-cli"
    )]
    NoDisplay,
    /// The display would not have it.
    #[error("the window could not be opened: {0}; on the command line use keepside-cli")]
    Window(String),
}

/// Whether this session has a display.
pub fn has_display() -> bool {
    let set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    cfg!(not(all(unix, not(target_os = "macos"))))
        || ["DISPLAY", "WAYLAND_DISPLAY", "WAYLAND_SOCKET"].into_iter().any(set)
}

/// Opens the window and runs the editor until it is closed.
///
/// # Errors
///
/// [`StartError`] if there is no display, or it refuses.
pub fn open_window(start: Start) -> Result<(), StartError> {
    if !has_display() {
        return Err(StartError::NoDisplay);
    }
    let viewport = ViewportBuilder::default()
        .with_title("Keepside")
        .with_app_id("keepside")
        .with_icon(icon())
        .with_inner_size([1280.0, 800.0])
        .with_min_inner_size([900.0, 560.0]);
    let options = eframe::NativeOptions { viewport, ..Default::default() };
    // A missing library of the window system shows as a panic out of its crate; after the start every
    // other panic is one of ours and goes on as such.
    let started = Arc::new(AtomicBool::new(false));
    let has_started = Arc::clone(&started);
    let create = move |cc: &eframe::CreationContext<'_>| -> Result<Box<dyn eframe::App>, _> {
        has_started.store(true, Ordering::Relaxed);
        Ok(Box::new(App::new(&cc.egui_ctx, start, Box::new(NativeDialogs))?))
    };
    let run = || eframe::run_native("keepside", options, Box::new(create));
    match catch_unwind(AssertUnwindSafe(run)) {
        Ok(result) => result.map_err(|error| StartError::Window(reason(&error.to_string()).to_owned())),
        Err(panic) if started.load(Ordering::Relaxed) => resume_unwind(panic),
        Err(_) => Err(StartError::Window("the window system failed, see above".to_owned())),
    }
}

/// What the desktop shows for the window; a blank one if the picture is damaged, of which a test tells.
fn icon() -> egui::IconData {
    eframe::icon_data::from_png_bytes(ICON).unwrap_or_default()
}

/// Why there is no window, without the place in somebody's source where that was found out.
fn reason(error: &str) -> &str {
    error.rsplit_once(".rs:").and_then(|(_, rest)| rest.split_once(": ")).map_or(error, |(_, why)| why)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_window_has_its_own_icon() {
        let icon = icon();
        assert_eq!((icon.width, icon.height, icon.rgba.len()), (256, 256, 256 * 256 * 4));
        // Neither blank nor filled to its corners.
        assert_eq!(icon.rgba[3], 0);
        assert!(icon.rgba.chunks(4).any(|pixel| pixel[3] == 255));
    }

    #[test]
    fn the_reason_is_told_without_places_in_source() {
        let error = "EventLoopError: os error at crates/winit/src/linux/mod.rs:788: No connection: refused";
        assert_eq!(reason(error), "No connection: refused");
        assert_eq!(reason("no OpenGL: none found"), "no OpenGL: none found");
    }
}
