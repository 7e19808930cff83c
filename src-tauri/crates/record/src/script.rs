//! The rehearsal script.
