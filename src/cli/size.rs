//! `size`: one full-size length at some scales.

use super::{Exit, terminal::Terminal};
use crate::outline::number::short;
use crate::units::{Full, Length, Scale};

pub fn size(terminal: &Terminal, length: &Length<Full>, scales: &[Scale]) -> Exit {
    let rows: Vec<(String, f64)> =
        scales.iter().map(|&scale| (scale.to_string(), length.at(scale).to_mm())).collect();
    let wide = rows.iter().map(|(scale, _)| scale.len()).max().unwrap_or(0);
    let mut text = format!("full  {} mm = {} in\n", short(length.to_mm(), 2), short(length.to_inches(), 3));
    for (scale, mm) in rows {
        text.push_str(&format!("{scale:<wide$}  {mm:>8.3} mm\n"));
    }
    terminal.out(&text);
    Exit::Done
}
