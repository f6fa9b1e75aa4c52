//! What is soldered to what: the ends of the coils, the switches and the joints between them, what a throw makes
//! of them, and the arrangements that the trade has names for.

mod arrangement;
mod coil_name;
mod connection;
mod function;
mod function_words;
pub(crate) mod joints;
pub(crate) mod lead;
mod nodes;
mod plan;
pub(crate) mod soldered;
mod switch;
mod terminal;
mod thing;
pub(crate) mod trade_word;

pub use arrangement::{Arrangement, UnknownArrangement};
pub use coil_name::{CoilName, Sense};
pub use connection::Connection;
pub use function::{CoilsJoined, Function, Unused};
pub use lead::{Lead, Leads};
pub(crate) use nodes::{Nodes, join};
pub use plan::{Plan, Soldering, TravelState};
pub use soldered::Soldered;
pub use switch::{
    BUILT_IN as BUILT_IN_SWITCHES, Contact, Lug, MAX_LUGS, PoleState, SELECTORS as BUILT_IN_SELECTORS,
    Switch, SwitchPole, Throw, UnknownSwitch,
};
pub use terminal::Terminal;
pub use thing::{EndNames, FinishIsPlus, Thing};
