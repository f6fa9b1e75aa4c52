//! A dry run for a rewire: what each coil arrangement of a guitar pickup will sound like on one guitar, how to
//! wire it, and what the meter must read afterwards.
//!
//! The modules stand in the order of the data's way; each uses only those before it.
//!
//! # A set
//!
//! A request is checked into a job, which puts a whole set into its folder and returns its figures:
//!
//! ```
//! use drywire::guitar::Guitar;
//! use drywire::job::{PAGE, SetRequest};
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let guitar = Guitar::built_in("set-neck")?;
//! # let temporary = tempfile::tempdir()?;
//! # let folder = temporary.path().join("set");
//! let voices = ["series", "parallel"].map(str::to_owned).to_vec();
//! let request = SetRequest { voices, ..SetRequest::new(&guitar, &folder) };
//! let set = request.check()?.make(&|_| ())?;
//!
//! let parallel = &set.figures.arrangements[1];
//! let drop = parallel.drop_rms_db.ok_or("silent")?;
//! assert!((-7.0..-5.0).contains(&drop), "parallel is some 6 dB below series: {drop}");
//! assert!(folder.join("matched/parallel.wav").is_file() && folder.join(PAGE).is_file());
//! # Ok(())
//! # }
//! ```
//!
//! # A guitar's file
//!
//! A draft is the text of a guitar's file. A change replaces one value and nothing beside it, and a draft with faults is
//! still a draft:
//!
//! ```
//! use drywire::document::Literal;
//! use drywire::guitar::{Draft, guitar_presets};
//! use drywire::quantity::Ohms;
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let mut draft = Draft::copy_of(&guitar_presets()[0]);
//! draft.set("pickup[0].coil_a.resistance", "4.2k")?;
//! draft.set("controls.volume.turned", Literal::Number(7.0))?;
//! let guitar = draft.check()?;
//! assert_eq!(guitar.pickups()[0].coil_a().resistance(), Ohms::new(4200.0));
//!
//! draft.set("scale", "648")?;
//! let refusal = draft.check().expect_err("a length needs its unit");
//! assert!(refusal.to_string().contains("648 mm"));
//! # Ok(())
//! # }
//! ```

#![cfg_attr(test, allow(clippy::float_cmp, reason = "tests compare with values that are exact"))]

mod vectors;
mod workers;

pub mod cautions;

pub mod quantity;

pub mod document;

pub mod digest;

pub mod markup;

pub mod wiring;

pub mod guitar;

pub mod leads;

pub mod pluck;

pub mod circuit;

pub mod response;

pub mod words;

pub mod schematic;

pub mod jack;

pub mod lugs;

pub mod probe;

pub mod harness;

pub mod filter;

pub mod sound;

pub mod folder;

pub mod measure;

pub mod amp;

pub mod balance;

pub mod bands;

pub mod impedance;

pub mod confirm;

pub mod render;

pub mod report;

pub mod survey;

pub mod plot;

pub mod abx;

pub mod page;

pub mod set;

pub mod job;

pub mod play;
