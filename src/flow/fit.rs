//! What the fit of one marking on one part found out.
//!
//! Solved once in full-size millimetres on the part as it was moulded; every
//! length then goes to the model by one [`Fit::at`]. Strains have no unit and
//! are the same in both worlds.

use super::artwork::Artwork;
use super::lettering::{Lettering, Setting};
use super::plan::Draw;
use crate::outline::number::{said_factor, said_mm_down, short};
use crate::outline::region::distance_to_segment;
use crate::outline::{Point, Polyline, Region, Segment, Vector};
use crate::units::{Angle, Full, Length, Model, Scale, Size};
use glam::DVec3;

/// A marking fitted to its part.
#[derive(Clone, Debug)]
pub struct Fit<W> {
    /// The flat piece's artwork; origin at the hold point, heading along x.
    pub artwork: Artwork<W>,
    /// Box of the flat artwork, heading along the width; no bleed, overlap or border.
    pub size: Size<W>,
    /// For stripes and bands laid along a line: centreline length × width.
    pub run: Option<Size<W>>,
    /// Where that centreline lies on the flat piece, from end to end, mm; empty where it follows no line.
    pub spine: Polyline,
    /// The film where it lands.
    pub film: Film3,
    /// How far it stretches and squeezes.
    pub strain: Strain,
    /// Cuts with which a film that would not lie down does, where some were found: for one make, so put in once
    /// that is known.
    pub relief: Option<Relief<W>>,
    /// Greatest way from film past a limit back to the trim line, along the flat piece.
    pub overhang: Length<W>,
    /// Area past a limit over the whole area.
    pub overhang_share: f64,
    /// The film past a limit, on the flat piece: what the share counts and pictures hatch.
    pub overhanging: Region<W>,
    /// The limits carried to the flat piece, where they cross it, mm.
    pub trim: Vec<Polyline>,
    /// Names of the limits that the piece runs past.
    pub past: Vec<String>,
    /// Whether everything past a limit lies at an end that may be trimmed.
    pub trimmable: bool,
    /// Greatest factor, at most 4, such that it and every smaller one fits, scaling about the hold point.
    pub largest_fit: f64,
    /// For stripes: the greatest length at true width that fits.
    pub largest_length: Option<Length<W>>,
    /// Where a closed wrap meets itself.
    pub seam: Option<Seam<W>>,
    /// How many times a pattern goes into the ring it is wrapped round, or a helix's stripe into the way from
    /// turn to turn; whole only where it comes out.
    pub repeats: Option<f64>,
    /// Share of the area that the film could not reach or the view could not see.
    pub hidden_share: f64,
    /// Share of the flat piece that lies over itself, so that it cannot be cut from one sheet.
    pub doubled_share: f64,
    /// How far it runs on, straight, past the ends of the line it was led along.
    pub past_line: Length<W>,
    /// How far the flat form may be off: of a bent line at its ends, of an outline true as seen where it
    /// lands. 0 where it is exact.
    pub miss: Length<W>,
}

impl Fit<Full> {
    /// The same fit on a model of this scale.
    #[must_use]
    pub fn at(&self, scale: Scale) -> Fit<Model> {
        let small = |p: &Point| *p * scale.ratio();
        Fit {
            artwork: self.artwork.at(scale),
            size: self.size.at(scale),
            run: self.run.map(|run| run.at(scale)),
            spine: self.spine.iter().map(small).collect(),
            film: self.film.enlarged(scale.ratio()),
            strain: self.strain.clone(),
            relief: self.relief.as_ref().map(|relief| relief.at(scale)),
            overhang: self.overhang.at(scale),
            overhang_share: self.overhang_share,
            overhanging: self.overhanging.at(scale),
            trim: self.trim.iter().map(|line| line.iter().map(small).collect()).collect(),
            past: self.past.clone(),
            trimmable: self.trimmable,
            largest_fit: self.largest_fit,
            largest_length: self.largest_length.map(|length| length.at(scale)),
            seam: self.seam.as_ref().map(|seam| Seam { gap: seam.gap.at(scale) }),
            repeats: self.repeats,
            hidden_share: self.hidden_share,
            doubled_share: self.doubled_share,
            past_line: self.past_line.at(scale),
            miss: self.miss.at(scale),
        }
    }
}

/// A stripe shorter than this on the model, mm, is no way out. Common practice, no source.
const LEAST_LENGTH: f64 = 0.5;

impl Fit<Model> {
    /// The smaller print that fits, as words: its factor, down to a whole per cent, and the scale that it is right
    /// for, no larger: a whole denominator where that is fine enough to print by. `83 %, as for 1/58`. `None`
    /// where nothing of a hundredth or more does, or the piece as it is.
    pub fn smaller_print(&self, scale: Scale) -> Option<String> {
        let factor = (self.largest_fit * 100.0 + 1e-6).floor() / 100.0;
        let denominator = scale.enlarged(factor).denominator();
        let unit = if denominator >= 20.0 {
            1.0
        } else if denominator >= 2.0 {
            10.0
        } else {
            100.0
        };
        let smaller = (denominator * unit - 1e-6).ceil() / unit;
        let way = || format!("{}, as for 1/{}", said_factor(factor), short(smaller, 2));
        (0.01..1.0).contains(&factor).then(way)
    }

    /// The longest stripe of this width that fits, in words for the spec and for the part in hand: never longer than
    /// it is. `None` where there is none, or none that is worth making.
    pub fn largest_length_said(&self, drawn_at: Scale) -> Option<String> {
        let longest = self.largest_length.map(Length::to_mm).filter(|&longest| longest >= LEAST_LENGTH)?;
        let full = said_mm_down(longest * drawn_at.denominator());
        Some(format!("{full} long at full size ({} on the model)", said_mm_down(longest)))
    }

    /// How far what is drawn at a point of the flat piece is turned from the heading: along a bent line as the line
    /// is there; letters on an arc as they stand round its centre.
    pub fn lean(&self, draw: &Draw, at: Point) -> Angle {
        let way = |v: Vector| Angle::radians(libm::atan2(v.y, v.x));
        if let Draw::Letters(Lettering { setting: Setting { bow: Some(bow), .. }, .. }) = draw {
            // Their ground is a sector of the arc's ring as long as the piece is as it was drawn.
            let mut segments = self.artwork.silhouette.contours.iter().flat_map(|contour| &contour.segments);
            let centre = segments.find_map(|segment| match segment {
                Segment::Arc { centre, .. } => Some(*centre),
                _ => None,
            });
            if let Some(centre) = centre {
                let up = if bow.under { centre - at } else { at - centre };
                return way(Vector::new(up.y, -up.x));
            }
        }
        let off = |pair: &&[Point]| distance_to_segment(at, pair[0], pair[1]);
        let nearest = self.spine.windows(2).min_by(|a, b| off(a).total_cmp(&off(b)));
        nearest.map_or(Angle::ZERO, |pair| way(pair[1] - pair[0]))
    }
}

/// Where a closed wrap meets itself, measured at the centreline: gap positive, overlap negative.
#[derive(Clone, Debug, PartialEq)]
pub struct Seam<W> {
    pub gap: Length<W>,
}

/// Cuts that let film lie down, and its strain with them; found for one kind of film.
#[derive(Clone, Debug, PartialEq)]
pub struct Relief<W> {
    pub kind: CutKind,
    pub cuts: Vec<ReliefCut<W>>,
    pub strain: Strain,
}

/// One of them, on the flat piece.
#[derive(Clone, Debug, PartialEq)]
pub struct ReliefCut<W> {
    /// From 1; written beside the cut.
    pub number: u32,
    /// From its mouth on the outline to its tip, mm.
    pub line: Polyline,
    /// How far its lips lap over each other on the part, or the width of the dart at its mouth; negative for a gap.
    pub lap: Length<W>,
    /// Corners of the film that is taken out, mm, from one corner of the mouth to the other by way of the tip;
    /// empty for a slit.
    pub out: Polyline,
}

/// How a cut makes room.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum CutKind {
    /// One line; the lips lap over each other.
    Slit,
    /// A wedge is taken out; its sides meet.
    Dart,
    /// Darts that run nearly to the hold point: petals are left.
    Gore,
}

impl CutKind {
    pub const fn word(self) -> &'static str {
        match self {
            Self::Slit => "slit",
            Self::Dart => "dart",
            Self::Gore => "gore",
        }
    }
}

impl Relief<Full> {
    /// The same cuts on a model of this scale.
    #[must_use]
    pub fn at(&self, scale: Scale) -> Relief<Model> {
        let small = |line: &Polyline| line.iter().map(|&p| p * scale.ratio()).collect();
        let cut = |cut: &ReliefCut<Full>| ReliefCut {
            number: cut.number,
            line: small(&cut.line),
            lap: cut.lap.at(scale),
            out: small(&cut.out),
        };
        Relief { kind: self.kind, cuts: self.cuts.iter().map(cut).collect(), strain: self.strain.clone() }
    }
}

impl Relief<Model> {
    /// Darts narrower than a knife can take out become slits, whose lips lap by that little.
    #[must_use]
    pub fn no_finer_than(mut self, finest: Length<Model>) -> Self {
        for cut in self.cuts.iter_mut().filter(|cut| cut.lap.to_mm() < finest.to_mm()) {
            cut.out.clear();
        }
        if self.cuts.iter().all(|cut| cut.out.is_empty()) {
            self.kind = CutKind::Slit;
        }
        self
    }
}

/// A triangulated film, flat and laid. Index i is one vertex in both; millimetres.
#[derive(Clone, Debug, Default)]
pub struct Film3 {
    /// On the flat piece, in its artwork's coordinates.
    pub flat: Vec<Point>,
    /// On the part, in the part's frame.
    pub laid: Vec<DVec3>,
    /// Outward normal of the part there.
    pub normals: Vec<DVec3>,
    /// Counter-clockwise seen from the printed side.
    pub triangles: Vec<[u32; 3]>,
    /// Principal stretches per triangle, the greater first; 1 is unstretched.
    pub stretches: Vec<[f64; 2]>,
}

impl Film3 {
    /// Every length times `factor`.
    #[must_use]
    pub fn enlarged(&self, factor: f64) -> Self {
        Self {
            flat: self.flat.iter().map(|&p| p * factor).collect(),
            laid: self.laid.iter().map(|&p| p * factor).collect(),
            normals: self.normals.clone(),
            triangles: self.triangles.clone(),
            stretches: self.stretches.clone(),
        }
    }
}

/// Strains of the laid film as numbers: stretch minus 1, squeezes negative.
///
/// λ₁ ≥ λ₂ are the principal stretches of a triangle, weighted by flat area.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Strain {
    /// Extreme of λ₁ − 1 after averaging over discs of radius √area/50.
    pub stretch_max: f64,
    /// 99th percentile of λ₁ − 1.
    pub stretch_p99: f64,
    /// Extreme of λ₂ − 1 after the same averaging.
    pub squeeze_max: f64,
    /// 1st percentile of λ₂ − 1.
    pub squeeze_p99: f64,
    /// Mean of max(|λ₁ − 1|, |λ₂ − 1|).
    pub mean_abs: f64,
    /// How much any of these may still change with a finer mesh: the solver's own estimate. 0 where the part unrolls exactly.
    pub estimate: f64,
    /// Whether the estimate came under the asked tolerance.
    pub settled: bool,
}

/// Whether the piece is the right size for its part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    Fits,
    /// Runs past a limit only where it may be trimmed.
    Trim,
    Oversize,
}

impl Verdict {
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fits => "fits",
            Self::Trim => "trim",
            Self::Oversize => "oversize",
        }
    }
}

/// Whether the film lies down.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lies {
    /// As it is.
    Flat,
    /// Softened by setting fluid, or warmed.
    Softened,
    /// Only with relief cuts.
    Cut,
    No,
}

impl Lies {
    pub const fn word(self) -> &'static str {
        match self {
            Self::Flat => "flat",
            Self::Softened => "softened",
            Self::Cut => "cut",
            Self::No => "no",
        }
    }
}
