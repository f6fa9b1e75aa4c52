//! A sound cut into whole windows of 50 ms.

/// The windows in a second.
const IN_A_SECOND: u32 = 20;

/// Cuts blocks at the ends of windows, from the first frame on.
#[derive(Debug, Clone)]
pub(super) struct Windows {
    length: usize,
    filled: usize,
}

impl Windows {
    pub(super) fn new(rate_hz: u32) -> Self {
        Self { length: (rate_hz / IN_A_SECOND).max(1) as usize, filled: 0 }
    }

    /// Returns the frames of a window.
    pub(super) fn length(&self) -> usize {
        self.length
    }

    /// Calls `each` with each part of the next `frames` frames that lies in one window, and whether the window ends with it.
    pub(super) fn cut(&mut self, frames: usize, mut each: impl FnMut(std::ops::Range<usize>, bool)) {
        let mut at = 0;
        while at < frames {
            let now = (self.length - self.filled).min(frames - at);
            self.filled = (self.filled + now) % self.length;
            each(at..at + now, self.filled == 0);
            at += now;
        }
    }
}
