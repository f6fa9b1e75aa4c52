//! sheet
use super::Described;
use crate::guitar::{Guitar, Pickup};
/// x
pub fn sheet(_d: &Described, _g: &Guitar, _p: &Pickup, _n: Option<&str>) -> String {
    String::new()
}
