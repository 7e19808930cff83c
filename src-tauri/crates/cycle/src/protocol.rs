//! (types only until the parser stands)
/// The numbers and sentences in force.
#[derive(Clone, Debug, PartialEq)]
pub struct Protocol {}
