//! What several promise tests need: reference circuits, whole programs run, files read by an independent reader.
#![allow(dead_code, reason = "each test binary uses its own part")]

pub mod circuits;
