//! A small linear circuit, from the coils to the amplifier's input, and its exact solution.

mod build;
mod knobs;
mod likeness;
mod netlist;
mod noise;
mod poles;
mod solder;
mod solve;
mod spot;
mod sweep;

pub use build::{BuildError, Driven, Ends, JackLoad, Strapping, Wired, circuit_of, knobs_of};
pub use knobs::{KnobCircuit, KnobPlace};
pub use likeness::Likeness;
pub use netlist::{Element, KnobPart, Netlist, Node};
pub use noise::{NOISE_BAND, NOISE_KELVINS};
pub use poles::{Mode, modes};
pub use solder::{Group, Nets, NetsKey, Site, Solder};
pub use solve::{Circuit, SolveError, resistance_to_ground};
pub use spot::Spot;
pub use sweep::Sweep;

#[cfg(test)]
mod tests;
