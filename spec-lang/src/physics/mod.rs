//! Laws as functions on quantities, each citing its source. No finding and no text for readers in here.
//!
//! Every function is total: it answers for any finite input, and where physics has no answer it says `None`.
//! Values marked "from memory" were typed without the document at hand and want checking before they decide alone.

pub mod air;
pub mod ampacity;
pub mod battery;
pub mod bore;
pub mod combustion;
pub mod conductors;
pub mod coolant;
pub mod duct_flow;
pub mod exhaust_flow;
pub mod fuel;
pub mod fuses;
pub mod geometry;
pub mod heat;
mod interpolation;
pub mod materials;
pub mod network;
pub mod night;
pub mod tubes;
