//! The part as the kit's mould made it.
//!
//! Calipers on a kit part say that it is not quite to scale. Here the part is
//! given, still in full-size millimetres, the sizes that the plastic stands
//! for: each measured axis its own ratio, an unmeasured one the geometric mean
//! of the others; limits and stations move with it. Without calipers this is
//! the part itself, so one fit serves every scale.

use super::place::{self, Refusal};
use crate::flow::{Axis, Datum, Direction, Limit, LimitKind, Measured, Over, Part, Shape, View};
use crate::outline::point;
use crate::surface::{self, Surface, calipers};
use crate::units::{Full, Length, Scale};
use glam::DVec3;
use std::sync::Arc;

/// A part with the sizes its plastic stands for.
#[derive(Clone, Debug)]
pub struct Moulded {
    pub surface: Arc<dyn Surface>,
    /// The part with these sizes, its limits moved along.
    pub part: Part,
    /// How much larger than the handbook says, along x, y and z of the part.
    pub stretch: DVec3,
    /// The same for the line that stations are counted along.
    pub lengthened: f64,
    /// The geometric mean of the ratios: over 1 where the plastic is too large.
    pub ratio: f64,
    /// Why nothing can be laid: calipers or the tape of `over` tell of no such part.
    pub untold: Option<Refusal>,
}

/// A tape is met this closely, as a share of it: far under what anybody reads off one, so that all figures stand.
const TAPE_OFF: f64 = 1e-9;
/// Tries; some ten are enough, and forty where halving alone is left.
const MOST_TRIES: usize = 60;

/// A tape tells ratios in this range: ten times off is refused when read, and four times is no kit.
const TAPED: [f64; 2] = [0.25, 4.0];

impl Moulded {
    /// The part as it is drawn.
    ///
    /// # Errors
    /// A shape of which no part can be made; a spec's have all been tried.
    pub fn drawn(part: &Part) -> Result<Self, surface::Flaw> {
        Ok(Self {
            surface: surface::build(&part.shape)?,
            part: part.clone(),
            stretch: DVec3::ONE,
            lengthened: 1.0,
            ratio: 1.0,
            untold: None,
        })
    }

    /// This drawn part as it is at a scale: itself, unless it has been measured there.
    #[must_use]
    pub fn at(&self, scale: Scale) -> Self {
        match self.part.measured.iter().find(|measured| measured.scale == scale) {
            None => self.clone(),
            Some(measured) => self.measured(measured, scale),
        }
    }

    fn sizes(&self) -> Vec<(Axis, Length<Full>)> {
        calipers::sizes(&self.part.shape, self.surface.as_ref())
    }

    fn measured(&self, measured: &Measured, scale: Scale) -> Self {
        let sizes = self.sizes();
        let mut ratios: Vec<(Axis, f64)> = Vec::new();
        for &(axis, length) in &measured.axes {
            if let Some(&(_, full)) = sizes.iter().find(|(name, _)| *name == axis) {
                ratios.push((axis, length.stands_for(scale) / full));
            }
        }
        match &measured.over {
            Some(over) => self.taped(&ratios, over, scale),
            None => self.stretched(&ratios),
        }
    }

    /// The tape tells the one ratio that all unmeasured axes share: the root of a growing function, by false
    /// position with halving (Illinois), for each try makes the part anew.
    fn taped(&self, ratios: &[(Axis, f64)], over: &Over, scale: Scale) -> Self {
        let taped = over.length.stands_for(scale).to_mm();
        let with = |share: f64| {
            let named = |axis: Axis| ratios.iter().any(|(name, _)| *name == axis);
            let rest = self.sizes().into_iter().map(|(axis, _)| axis).filter(|&axis| !named(axis));
            self.stretched(&ratios.iter().copied().chain(rest.map(|axis| (axis, share))).collect::<Vec<_>>())
        };
        let length = |share: f64| place::tape_between(&with(share), over.from, over.to);
        let untold = |text: String, help: &str| Self {
            untold: Some(Refusal::new(text, help)),
            ..self.stretched(ratios)
        };
        let name = &self.part.name;
        let [from, to] = [over.from, over.to].map(|datum| self.datum_name(datum));
        let Some(whole) = length(1.0) else {
            return untold(
                format!("a tape over the top of `{name}` never gets from `{from}` to `{to}`"),
                "name two limits that the middle of the top view crosses, each keeping the side of the other",
            );
        };
        let impossible = || {
            let (found, right) = (at_model(taped, scale), at_model(whole, scale));
            untold(
                format!(
                    "a tape of {found} from `{from}` to `{to}` goes with no size of `{name}`: {right} would be to scale"
                ),
                "the length is of the tape on the model: check its unit and the scale",
            )
        };
        let [mut low, mut high] = TAPED;
        if ratios.is_empty() {
            // All grows alike, and the tape with it.
            let share = taped / whole;
            return if (low..=high).contains(&share) { with(share) } else { impossible() };
        }
        // A tape that never gets there is of a part too large.
        let off = |share: f64| length(share).map_or(f64::INFINITY, |found| found - taped);
        let (mut under, mut above) = (off(low), off(high));
        if under >= 0.0 || above < 0.0 {
            return impossible();
        }
        let mut was_under = None;
        for _ in 0..MOST_TRIES {
            let share = if above.is_finite() {
                ((low * above - high * under) / (above - under)).clamp(low, high)
            } else {
                (low + high) / 2.0
            };
            let found = off(share);
            if found.abs() <= TAPE_OFF * taped || high - low <= TAPE_OFF * high {
                return with(share);
            }
            let is_under = found < 0.0;
            let again = was_under == Some(is_under);
            if is_under {
                (low, under) = (share, found);
                above *= if again { 0.5 } else { 1.0 };
            } else {
                (high, above) = (share, found);
                under *= if again { 0.5 } else { 1.0 };
            }
            was_under = Some(is_under);
        }
        with((low + high) / 2.0)
    }

    /// The part with these ratios; axes that are not named get the geometric mean of those that are.
    fn stretched(&self, ratios: &[(Axis, f64)]) -> Self {
        let mean = geometric_mean(ratios.iter().map(|&(_, ratio)| ratio));
        let ratio =
            |axis: Axis| ratios.iter().find(|(name, _)| *name == axis).map_or(mean, |&(_, ratio)| ratio);
        let drawn = &self.part;
        let stretch = calipers::stretch(&drawn.shape, ratio);
        let shape = calipers::resized(&drawn.shape, self.surface.as_ref(), ratio);
        let surface = match surface::build(&shape) {
            Ok(surface) => surface,
            Err(flaw) => {
                let text = format!("with the sizes that were measured `{}` cannot be: {flaw}", drawn.name);
                let help = "measure again, or correct the drawing of the part";
                return Self { untold: Some(Refusal::new(text, help)), ..self.clone() };
            }
        };
        let length = |surface: &dyn Surface| surface.stations()[1] - surface.stations()[0];
        let along = length(surface.as_ref()) / length(self.surface.as_ref());
        let limits = drawn.limits.iter().map(|limit| moved(limit, stretch)).collect();
        Self {
            surface,
            // A tube's stations run along its path.
            lengthened: if matches!(drawn.shape, Shape::Tube { .. }) { along } else { stretch.x },
            part: Part { shape, limits, ..drawn.clone() },
            stretch,
            ratio: geometric_mean(self.sizes().into_iter().map(|(axis, _)| ratio(axis))),
            untold: None,
        }
    }

    /// What the spec calls a line to measure from.
    pub fn datum_name(&self, datum: Datum) -> &str {
        match datum {
            Datum::Limit(index) => &self.part.limits[index].name,
            Datum::End(end) => end.word(),
        }
    }

    /// A station of the drawing, moved with the part, mm.
    pub fn station(&self, station: Length<Full>) -> f64 {
        station.to_mm() * self.lengthened
    }

    /// A length along one axis of the part, moved with the part, mm.
    pub fn along(&self, axis: Direction, length: Length<Full>) -> f64 {
        length.to_mm() * axis.of(self.stretch)
    }

    /// Lengths across and up the paper of a view, moved with the part, mm.
    pub fn on_paper(&self, view: View, across: Length<Full>, up: Length<Full>) -> [f64; 2] {
        let [right, top] = self.paper_stretch(view);
        [across.to_mm() * right, up.to_mm() * top]
    }

    /// How much larger the part is than the handbook says, across and up the paper of a view.
    pub fn paper_stretch(&self, view: View) -> [f64; 2] {
        let [right, top, _] = view.axes().map(|axis| axis.abs().dot(self.stretch));
        [right, top]
    }
}

/// A full-size length, mm, as it is on the model.
fn at_model(mm: f64, scale: Scale) -> String {
    format!("{:.1} mm", Length::<Full>::mm(mm).at(scale).to_mm())
}

fn geometric_mean(ratios: impl Iterator<Item = f64>) -> f64 {
    let logs: Vec<f64> = ratios.map(libm::log).collect();
    if logs.is_empty() { 1.0 } else { libm::exp(logs.iter().sum::<f64>() / logs.len() as f64) }
}

fn moved(limit: &Limit, stretch: DVec3) -> Limit {
    let kind = match &limit.kind {
        LimitKind::Plane { axis, offset, keep_greater } => {
            LimitKind::Plane { axis: *axis, offset: *offset * axis.of(stretch), keep_greater: *keep_greater }
        }
        LimitKind::Region { view, outline, keep_inside } => {
            let [right, up, _] = view.axes().map(|axis| axis.abs().dot(stretch));
            let outline = outline.iter().map(|p| point(p.x * right, p.y * up)).collect();
            LimitKind::Region { view: *view, outline, keep_inside: *keep_inside }
        }
    };
    Limit { kind, ..limit.clone() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::{Over, Place, Shape};
    use crate::units::Angle;

    fn at(part: &Part, scale: Scale) -> Moulded {
        Moulded::drawn(part).unwrap().at(scale)
    }

    fn helmet(measured: Measured) -> Part {
        let at = Place { file: "test".into(), line: 1, column: 1 };
        let plane = |name: &str, axis, offset, keep_greater| Limit {
            name: name.to_owned(),
            kind: LimitKind::Plane { axis, offset: Length::mm(offset), keep_greater },
            at: at.clone(),
        };
        Part {
            name: "helmet".to_owned(),
            shape: Shape::Ellipsoid {
                length: Length::mm(280.0),
                width: Length::mm(240.0),
                height: Length::mm(240.0),
            },
            measured: vec![measured],
            limits: vec![
                plane("brow", Direction::Aft, -70.0, true),
                plane("nape", Direction::Aft, 70.0, false),
            ],
            seam: Angle::ZERO,
            at,
        }
    }

    fn calipers(axes: Vec<(Axis, Length<crate::units::Model>)>, over: Option<Over>) -> Measured {
        let at = Place { file: "test".into(), line: 1, column: 1 };
        Measured { scale: Scale::one_to(40.0).unwrap(), axes, over, at }
    }

    #[test]
    fn an_unmeasured_axis_gets_the_geometric_mean() {
        // 280/40 = 7 and 240/40 = 6 would be right; the calipers say 6.3 and 6.6: ratios 0.9 and 1.1.
        let axes = vec![(Axis::Length, Length::mm(6.3)), (Axis::Width, Length::mm(6.6))];
        let moulded = at(&helmet(calipers(axes, None)), Scale::one_to(40.0).unwrap());
        let mean = (0.9f64 * 1.1).sqrt();
        assert!((moulded.stretch - DVec3::new(0.9, 1.1, mean)).length() < 1e-12);
        assert!((moulded.ratio - mean).abs() < 1e-12);
        let LimitKind::Plane { offset, .. } = moulded.part.limits[0].kind else { panic!("a plane") };
        assert!((offset.to_mm() + 63.0).abs() < 1e-9, "limits scale with the part");
    }

    #[test]
    fn other_scales_are_left_alone() {
        let axes = vec![(Axis::Length, Length::mm(6.3))];
        let moulded = at(&helmet(calipers(axes, None)), Scale::one_to(72.0).unwrap());
        assert_eq!((moulded.stretch, moulded.ratio), (DVec3::ONE, 1.0));
    }

    #[test]
    fn a_tape_over_the_part_tells_the_rest() {
        // The way over the top of an ellipse 280 × 240 between x = ±70, by a fine polygon of its own.
        let arc: f64 = (0..100_000)
            .map(|k| {
                let at = |k: i32| {
                    let x = -70.0 + 140.0 * f64::from(k) / 100_000.0;
                    (x, 120.0 * (1.0 - libm::pow(x / 140.0f64, 2.0)).sqrt())
                };
                let (a, b) = (at(k), at(k + 1));
                (libm::pow(a.0 - b.0, 2.0) + libm::pow(a.1 - b.1, 2.0)).sqrt()
            })
            .sum();
        let over = Over { from: Datum::Limit(0), to: Datum::Limit(1), length: Length::mm(arc * 0.9 / 40.0) };
        let moulded = at(&helmet(calipers(Vec::new(), Some(over))), Scale::one_to(40.0).unwrap());
        assert!((moulded.ratio - 0.9).abs() < 1e-5, "{}", moulded.ratio);
        assert_eq!(moulded.untold, None);
    }

    #[test]
    fn a_tape_that_tells_nothing_is_said() {
        let untold = |from, to, mm| {
            let over = Over { from: Datum::Limit(from), to: Datum::Limit(to), length: Length::mm(mm) };
            let part = helmet(calipers(vec![(Axis::Length, Length::mm(6.3))], Some(over)));
            at(&part, Scale::one_to(40.0).unwrap()).untold.map(|refusal| refusal.text)
        };
        assert_eq!(untold(0, 1, 3.6), None);
        let long = untold(0, 1, 360.0).unwrap();
        assert!(long.starts_with("a tape of 360.0 mm from `brow` to `nape` goes with no size"), "{long}");
        assert!(untold(0, 1, 0.1).is_some());
        let mut aside = helmet(calipers(
            Vec::new(),
            Some(Over { from: Datum::Limit(0), to: Datum::Limit(1), length: Length::mm(3.6) }),
        ));
        let LimitKind::Plane { offset, .. } = &mut aside.limits[1].kind else { panic!("a plane") };
        *offset = Length::mm(-90.0);
        let untold = at(&aside, Scale::one_to(40.0).unwrap()).untold.unwrap();
        assert_eq!(untold.text, "a tape over the top of `helmet` never gets from `brow` to `nape`");
    }
}
