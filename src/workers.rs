//! Work shared out over as many threads as can be had.

use std::panic::resume_unwind;
use std::sync::{Mutex, PoisonError};
use std::thread::{Builder, scope};

/// Returns what `work` makes of each of `items`, in their order, done by up to `workers` threads of which the caller's is
/// one; where the system gives fewer, those do all of it.
///
/// # Panics
/// Where `work` panics.
pub(crate) fn share_out<I: Send, O: Send>(
    items: impl IntoIterator<Item = I, IntoIter: Send>,
    workers: usize,
    work: impl Fn(I) -> O + Sync,
) -> Vec<O> {
    let items = Mutex::new(items.into_iter().enumerate());
    let next = || items.lock().unwrap_or_else(PoisonError::into_inner).next();
    let one_after_the_other =
        || -> Vec<(usize, O)> { std::iter::from_fn(next).map(|(place, item)| (place, work(item))).collect() };
    let mut done = scope(|scope| {
        let others: Vec<_> = (1..workers)
            .map_while(|_| Builder::new().spawn_scoped(scope, one_after_the_other).ok())
            .collect();
        let mut done = one_after_the_other();
        for other in others {
            done.extend(other.join().unwrap_or_else(|panic| resume_unwind(panic)));
        }
        done
    });
    done.sort_by_key(|(place, _)| *place);
    done.into_iter().map(|(_, made)| made).collect()
}

#[cfg(test)]
mod tests {
    use super::share_out;

    #[test]
    fn everything_is_done_once_and_told_in_order_by_any_number_of_threads() {
        for workers in [0, 1, 2, 7, 40] {
            let doubled = share_out(0..100, workers, |i| 2 * i);
            assert_eq!(doubled, (0..100).map(|i| 2 * i).collect::<Vec<_>>(), "{workers}");
        }
        assert!(share_out(Vec::<u8>::new(), 3, |i| i).is_empty());
    }

    #[test]
    fn a_panic_of_any_thread_is_the_callers() {
        let shared = || share_out(0..64, 4, |i| assert_ne!(i, 40, "this one"));
        assert!(std::panic::catch_unwind(shared).is_err());
    }
}
