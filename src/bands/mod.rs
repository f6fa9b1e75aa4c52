//! How sure the figures are: what part tolerances make of them.
//!
//! Each draw is a whole guitar whose every part lies somewhere within its tolerance, evenly (Monte Carlo), and whose pickups
//! lie within the ranges of their types, both coils of one together; what 90 % of the draws lie within is the band. All voices are told of the same draw, so that what two of them have in common does
//! not blur their difference.

mod draw;
mod monte_carlo;
mod quantile;
mod sensitivity;

pub use draw::Draws;
pub use monte_carlo::{Bands, BandsInput, CurveBand, VoiceBands, bands};
pub use quantile::Band;
pub use sensitivity::{Sensitivity, sensitivity};
