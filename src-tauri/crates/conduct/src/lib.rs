//! conduct.
