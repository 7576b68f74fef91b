//! How much film a scale takes, and what it costs where the user gives a price.
//!
//! Film comes in sheets: a sheet that is begun is counted whole. Shares are of the film
//! between the margins, as they are for a single sheet. Left out: tape, which comes off a
//! roll and has a list of its own, and film under labels, which is waste like the rest.

use super::text::{count, plain};
use crate::flow::{Make, Outcome, Plan, ScaleOutcome, Sheet};
use crate::outline::number::{said_share, short};

/// One film, of the sheets of one scale or of those that scales share.
pub struct FilmUse {
    pub make: Make,
    pub sheets: usize,
    /// Of whole sheets, mm².
    pub area: f64,
    /// Under pieces, mm².
    pub used: f64,
    pub used_share: f64,
    pub pieces: usize,
    /// Of these, the ones made in case another is spoilt.
    pub spares: usize,
    /// In the user's own words.
    pub cost: Option<String>,
}

/// Decal film, then mask film, of the sheets of a scale alone; only what is used.
pub fn of_scale(outcome: &Outcome, at: &ScaleOutcome) -> Vec<FilmUse> {
    each(&outcome.plan, &at.sheets, &[at])
}

/// The same of the sheets that scales share.
pub fn shared(outcome: &Outcome) -> Vec<FilmUse> {
    each(&outcome.plan, &outcome.together.sheets, &outcome.scales.iter().collect::<Vec<_>>())
}

fn each(plan: &Plan, sheets: &[Sheet], scales: &[&ScaleOutcome]) -> Vec<FilmUse> {
    [Make::Decal, Make::Mask].into_iter().filter_map(|make| of(plan, sheets, scales, make)).collect()
}

fn of(plan: &Plan, sheets: &[Sheet], scales: &[&ScaleOutcome], make: Make) -> Option<FilmUse> {
    let sheets: Vec<_> = sheets.iter().filter(|sheet| sheet.make == make).collect();
    if sheets.is_empty() {
        return None;
    }
    let [left, right, top, bottom] = plan.sheets_of(make).kept();
    let sides = |sheet: &Sheet| [sheet.page.width.to_mm(), sheet.page.height.to_mm()];
    let area = sheets.iter().map(|sheet| sides(sheet)[0] * sides(sheet)[1]).sum();
    let inner = |sheet: &Sheet| {
        let [width, height] = sides(sheet);
        (width - left - right) * (height - top - bottom)
    };
    let used: f64 = sheets.iter().map(|sheet| sheet.used_share * inner(sheet)).sum();
    let room: f64 = sheets.iter().map(|sheet| inner(sheet)).sum();
    let on = |number: u32| sheets.iter().any(|sheet| sheet.pieces.contains(&number));
    let pieces = scales.iter().flat_map(|at| &at.pieces);
    let pieces: Vec<_> = pieces.filter(|piece| piece.make == make && on(piece.number)).collect();
    let spare = |piece: &&&crate::flow::Piece| plan.is_spare(piece);
    Some(FilmUse {
        make,
        sheets: sheets.len(),
        area,
        used,
        used_share: if room > 0.0 { used / room } else { 0.0 },
        pieces: pieces.len(),
        spares: pieces.iter().filter(spare).count(),
        cost: plan.films.of(make).price.as_ref().map(|price| price.times(sheets.len())),
    })
}

impl FilmUse {
    /// `decal film: 2 sheets (1247 cm²), 31 % of what can be printed used by 24 pieces, 3 of them spare; 4.80 EUR`.
    pub fn said(&self) -> String {
        let mut text = format!(
            "{} film: {} ({} cm²), {} of what can be printed used by {}",
            self.make.word(),
            count(self.sheets, "sheet"),
            short(self.area / 100.0, 0),
            said_share(self.used_share),
            count(self.pieces, "piece")
        );
        if self.spares > 0 {
            text += &format!(", {} of them spare", self.spares);
        }
        if let Some(cost) = &self.cost {
            text += &format!("; {}", plain(cost));
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::super::fixture;
    use super::*;
    use crate::flow::Price;
    use std::sync::Arc;

    #[test]
    fn film_is_counted_in_sheets_and_paid_by_the_sheet() {
        let mut outcome = fixture::outcome();
        let marking = outcome.scales[0].pieces[0].marking;
        let plan = Arc::make_mut(&mut outcome.plan);
        plan.films.decal.price = Some(Price { amount: 2.4, currency: "EUR".into(), leads: false });
        let mut second = outcome.scales[0].sheets[0].clone();
        second.used_share = 0.25;
        outcome.scales[0].sheets[0].used_share = 0.5;
        outcome.scales[0].sheets.push(second);
        let own = outcome.scales[0].sheets[0].pieces.clone();
        for piece in outcome.scales[0].pieces.iter_mut().filter(|p| p.marking == marking) {
            piece.copy = 9;
        }
        let uses = of_scale(&outcome, &outcome.scales[0]);
        let decal = uses.iter().find(|each| each.make == Make::Decal).unwrap();
        assert_eq!(decal.sheets, 2);
        // Two sheets of A4, ISO 216: 210 × 297 mm.
        assert!((decal.area - 2.0 * 62_370.0).abs() < 1e-9);
        assert!((decal.used_share - 0.375).abs() < 1e-12, "{}", decal.used_share);
        assert!(decal.pieces <= own.len() && decal.spares >= 1, "{} {}", decal.pieces, decal.spares);
        assert_eq!(decal.cost.as_deref(), Some("4.80 EUR"));
        assert!(
            decal.said().starts_with("decal film: 2 sheets (1247 cm²), 38 % of what can be printed used by "),
            "{}",
            decal.said()
        );
    }
}
