//! The only place that knows whether anyone is looking: width, colour, closed pipes.

use std::io::{self, IsTerminal, Write};

/// Narrower than this nothing can be read; wider ones are given no more.
const WIDTHS: std::ops::RangeInclusive<usize> = 40..=160;

/// Where no terminal tells its width.
const PIPE_WIDTH: usize = 100;

pub struct Terminal {
    colour: bool,
}

impl Terminal {
    pub fn new() -> Self {
        // https://no-color.org: any value that is not empty asks for no colour.
        let plain = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
        Self { colour: !plain && io::stdout().is_terminal() }
    }

    pub fn colour(&self) -> bool {
        self.colour
    }

    /// Whether someone sees what happens meanwhile.
    pub fn is_watched(&self) -> bool {
        io::stderr().is_terminal()
    }

    pub fn width(&self) -> usize {
        let known = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
        known.unwrap_or(PIPE_WIDTH).clamp(*WIDTHS.start(), *WIDTHS.end())
    }

    /// Writes to standard output. A reader that has gone away is no failure of ours.
    pub fn out(&self, text: &str) {
        let mut out = io::stdout().lock();
        let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    }

    /// Writes to standard error.
    pub fn err(&self, text: &str) {
        let _ = io::stderr().lock().write_all(text.as_bytes());
    }

    /// A problem with the line it is in, underlined.
    pub fn diagnostic(&self, problem: &dyn miette::Diagnostic) -> String {
        let colour = self.colour && io::stderr().is_terminal();
        let theme = if colour {
            miette::GraphicalTheme::unicode()
        } else {
            miette::GraphicalTheme::unicode_nocolor()
        };
        let handler =
            miette::GraphicalReportHandler::new_themed(theme).with_width(self.width()).with_links(false);
        let mut text = String::new();
        match handler.render_report(&mut text, problem) {
            Ok(()) => text,
            Err(_) => format!("{problem}\n"),
        }
    }
}
