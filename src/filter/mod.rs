//! A response applied to sound: kernels from exact responses, and their convolution with a stream.

mod convolve;
mod kernel;
mod parts;
mod precision;
mod ringing;
mod section;

pub use convolve::{Convolver, Frame, Output};
pub use kernel::{Fidelity, Kernel, KernelError, base_length, most_before};
pub use precision::Precision;
pub use section::SectionFilter;
