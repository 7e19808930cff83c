//! phone.
