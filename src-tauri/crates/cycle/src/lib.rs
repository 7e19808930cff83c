//! cycle.
