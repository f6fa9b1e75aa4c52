//! The project itself: which module uses which, and what it depends on.

mod dependencies_are_few_free_and_known;
mod layering;
