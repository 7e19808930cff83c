//! One file a rule. Each says what it wants spoken and when; none of them speaks.

pub(crate) mod answers;
pub(crate) mod check;
pub(crate) mod cup;
pub(crate) mod hands_off;
pub(crate) mod life;
pub(crate) mod power;
