//! Files and folders of files put in place whole or not at all.
//!
//! What is new is written beside its place under a name of ours, `.drywire-` and eight letters, brought to the disk,
//! and then put in place in one step: a [`NewFile`] by a rename, a [`NewSet`] by the rename of a whole folder or, where
//! the folder is there already, by the exchange of the two. A run that fails or is killed leaves the old one or the
//! new one, and at most such a temporary, which the next run in the same place removes.
//!
//! Files of others in the folder are carried over as they are. Files that are read, the [`Inputs`], are never
//! replaced, whatever path, link or spelling leads to them.

mod carry;
mod earlier;
mod entry;
mod inputs;
mod obstacle;
mod output;
mod place;
mod set;
mod single;
mod temporary;

pub use earlier::{Earlier, ListedFile};
pub use entry::{EntryName, NotAName};
pub use inputs::Inputs;
pub use obstacle::{FolderError, Obstacle};
pub use output::{Contents, OutputError, OutputFolder, Within};
pub use set::{NewSet, Placed, SetPlan};
pub use single::{Existing, NewFile};
