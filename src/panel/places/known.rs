//! What was worked out last, by what it was worked out from.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// The most that is kept.
const MOST: usize = 8;

/// The last outcomes, each with what it was worked out from.
#[derive(Debug)]
pub(super) struct Known<K, T>(Mutex<Vec<(K, Arc<T>)>>);

impl<K, T> Default for Known<K, T> {
    fn default() -> Self {
        Self(Mutex::default())
    }
}

impl<K: PartialEq, T> Known<K, T> {
    fn all(&self) -> MutexGuard<'_, Vec<(K, Arc<T>)>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Returns the last outcome of which `is_it` says that it is wanted.
    pub(super) fn find(&self, is_it: impl Fn(&K, &T) -> bool) -> Option<Arc<T>> {
        let all = self.all();
        all.iter().rev().find(|(key, outcome)| is_it(key, outcome)).map(|(_, outcome)| Arc::clone(outcome))
    }

    /// Keeps an outcome, in the place of one that was worked out from the same.
    pub(super) fn keep(&self, key: K, outcome: T) {
        let mut all = self.all();
        all.retain(|(own, _)| *own != key);
        if all.len() >= MOST {
            all.remove(0);
        }
        all.push((key, Arc::new(outcome)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_outcomes_are_kept_and_one_of_the_same_takes_its_place() {
        let known = Known::default();
        for n in 0..20 {
            known.keep(n % 10, n);
        }
        assert_eq!(known.find(|key, _| *key == 9).as_deref(), Some(&19));
        assert_eq!(known.find(|key, _| *key == 2).as_deref(), Some(&12));
        assert_eq!(known.find(|key, _| *key == 1), None);
        known.keep(9, 0);
        assert_eq!(known.find(|key, own| *key == 9 && *own == 0).as_deref(), Some(&0));
    }
}
