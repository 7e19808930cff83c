use std::sync::{Arc, Mutex, PoisonError};

use crate::phone::{Phone, Wish};

/// A phone that does nothing and remembers what was wished of it. Its clones are the same phone.
#[derive(Clone, Debug, Default)]
pub struct FakePhone(Arc<Mutex<Vec<Wish>>>);

impl FakePhone {
    /// Nothing was wished yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// All wishes since this was asked last.
    pub fn take(&self) -> Vec<Wish> {
        std::mem::take(&mut *self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

impl Phone for FakePhone {
    fn wish(&mut self, wish: Wish) {
        let mut wishes = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        wishes.push(wish);
    }
}
