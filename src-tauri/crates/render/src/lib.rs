//! render.
