//! What is soldered to what: the ends of the coils, the joints between them, and the arrangements that the
//! trade has names for.

mod arrangement;
mod connection;
mod terminal;

pub use arrangement::Arrangement;
pub use connection::Connection;
pub use terminal::Terminal;
