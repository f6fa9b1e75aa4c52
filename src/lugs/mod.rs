//! A switch's plan: searched for, ranked, checked and explained.

mod asked;
mod check;
mod described;
mod facts;
mod form;
mod labels;
mod passing;
mod preference;
mod save;
mod search;
mod sheet;

pub use asked::{Asked, AskedError};
pub use check::{Drawn, Finding, FindingKind, findings};
pub use described::{Described, first_contradiction, is_linked};
pub use facts::{ThrowFacts, is_as_asked};
pub use form::{AlternativeForm, CheckForm, FindingForm, PlanForm, SearchForm, ThrowForm, TravelForm};
pub use labels::{Labels, rests_on};
pub use passing::Passing;
pub use preference::{Preference, ranked};
pub use save::{PutPlan, put_plan};
pub use search::{Found, Wanted, WrongCount};
pub(crate) use sheet::colour::Colour;
pub use sheet::{PICTURE_STYLE, must_read, picture, sheet};
pub(crate) use sheet::{STYLE, beeps, listed, throws};
