//! One file a rule. Each says what it wants spoken and when; none of them speaks.

pub(crate) mod answers;
pub(crate) mod check;
pub(crate) mod cup;
pub(crate) mod delivery;
pub(crate) mod drill;
pub(crate) mod drugs;
pub(crate) mod hands_off;
pub(crate) mod life;
pub(crate) mod minutes;
pub(crate) mod newborn;
pub(crate) mod plans;
pub(crate) mod power;
pub(crate) mod rosc;
pub(crate) mod rotate;
pub(crate) mod still;
