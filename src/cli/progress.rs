//! How far a batch has come, on a terminal; nothing in a pipe.

use super::terminal::Terminal;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

pub struct Progress(ProgressBar);

impl Progress {
    /// A line that tells how many of `count` specs are done and how long the rest may take.
    pub fn new(terminal: &Terminal, count: usize) -> Self {
        if count < 2 || !terminal.is_watched() {
            return Self(ProgressBar::hidden());
        }
        let bar = ProgressBar::with_draw_target(Some(count as u64), ProgressDrawTarget::stderr());
        let words = "{wide_bar} {pos} of {len} specs, {eta} to go";
        bar.set_style(ProgressStyle::with_template(words).unwrap_or_else(|_| ProgressStyle::default_bar()));
        Self(bar)
    }

    /// One more is done.
    pub fn finished(&self) {
        self.0.inc(1);
    }

    /// Prints while the line is out of the way.
    pub fn aside(&self, print: impl FnOnce()) {
        self.0.suspend(print);
    }

    /// Takes the line away.
    pub fn ended(&self) {
        self.0.finish_and_clear();
    }
}
