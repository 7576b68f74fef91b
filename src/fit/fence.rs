//! Limits as functions: how far inside the permitted side a point of the part lies.

use super::moulded::Moulded;
use super::place::paper;
use crate::flow::{Datum, End, LimitKind, View};
use crate::outline::{Region, point};
use crate::surface::{Foot, Surface};
use crate::units::Full;

/// Something film must not pass: a named limit, or the part's open ends.
pub enum Fence<'a> {
    Ends(&'a dyn Surface),
    /// One of them.
    End(&'a dyn Surface, End),
    Limit(&'a str, &'a LimitKind),
    /// Where the part turns away from a view: the least cosine that still faces it, and a size for scale.
    Horizon {
        view: View,
        least: f64,
        size: f64,
    },
}

impl Fence<'_> {
    /// What the report calls it.
    pub fn name(&self) -> &str {
        match self {
            Self::Ends(_) | Self::End(..) => "the part's edge",
            Self::Limit(name, _) => name,
            Self::Horizon { .. } => "the horizon of the view",
        }
    }

    /// No bit of the fence is nearer than this, mm in space; 0 where that is not known.
    pub fn no_nearer(&self, foot: Foot) -> f64 {
        match self {
            // What lies beside an outline on paper lies as far from it in space, at least.
            Self::Limit(_, LimitKind::Region { view, outline, keep_inside: false }) => {
                let [across, up] = paper(*view, foot.point);
                let region: Region<Full> = Region::new(vec![outline.clone()]);
                let p = point(across, up);
                if region.contains(p) { 0.0 } else { region.distance_to_edge(p) }
            }
            Self::Limit(_, LimitKind::Region { .. }) | Self::Horizon { .. } => 0.0,
            _ => self.clearance(foot).max(0.0),
        }
    }

    /// Millimetres inside, negative outside. Zero exactly on the line; away from it the
    /// value is of the order of the distance, no more.
    pub fn clearance(&self, foot: Foot) -> f64 {
        match self {
            Self::Ends(surface) => -surface.past_ends(foot.point),
            Self::End(surface, end) => surface.short_of(*end, foot.point),
            Self::Limit(_, kind) => clearance(kind, foot),
            Self::Horizon { view, least, size } => (foot.normal.dot(view.axes()[2]) - least) * size,
        }
    }
}

/// Every fence of a part.
pub fn fences(moulded: &Moulded) -> Vec<Fence<'_>> {
    let ends = (moulded.surface.past_ends(glam::DVec3::ZERO) > f64::NEG_INFINITY)
        .then(|| Fence::Ends(moulded.surface.as_ref()));
    ends.into_iter()
        .chain(moulded.part.limits.iter().map(|limit| Fence::Limit(&limit.name, &limit.kind)))
        .collect()
}

/// Every fence but the line that a piece starts from.
pub fn others(moulded: &Moulded, datum: Datum) -> Vec<Fence<'_>> {
    let own = moulded.datum_name(datum);
    let mut rest = fences(moulded);
    match datum {
        Datum::Limit(_) => rest.retain(|fence| !matches!(fence, Fence::Limit(name, _) if *name == own)),
        Datum::End(end) => {
            let other = if end == End::Front { End::Rear } else { End::Front };
            rest.retain(|fence| !matches!(fence, Fence::Ends(_)));
            rest.insert(0, Fence::End(moulded.surface.as_ref(), other));
        }
    }
    rest
}

/// Millimetres on the permitted side of a line to measure from.
pub fn kept(moulded: &Moulded, datum: Datum, foot: Foot) -> f64 {
    match datum {
        Datum::Limit(index) => clearance(&moulded.part.limits[index].kind, foot),
        Datum::End(end) => moulded.surface.short_of(end, foot.point),
    }
}

/// The smaller side of the smallest region among limits, mm: what must not be stepped over. Infinite where there is none.
pub fn smallest(fences: &[Fence<'_>]) -> f64 {
    let side = |fence: &Fence<'_>| match fence {
        Fence::Limit(_, LimitKind::Region { outline, .. }) => {
            let bounds = crate::outline::Bounds::from_points(outline.iter().copied());
            bounds.width().min(bounds.height())
        }
        _ => f64::INFINITY,
    };
    fences.iter().map(side).fold(f64::INFINITY, f64::min)
}

/// Millimetres on the permitted side of one limit.
pub fn clearance(kind: &LimitKind, foot: Foot) -> f64 {
    match kind {
        LimitKind::Plane { axis, offset, keep_greater } => {
            let over = axis.of(foot.point) - offset.to_mm();
            if *keep_greater { over } else { -over }
        }
        LimitKind::Region { view, outline, keep_inside } => {
            let [across, up] = paper(*view, foot.point);
            let region: Region<Full> = Region::new(vec![outline.clone()]);
            let p = point(across, up);
            let distance = region.distance_to_edge(p);
            let inside = if region.contains(p) { distance } else { -distance };
            // The region is drawn on the side that faces the viewer. The facing, times the
            // region's own size, carries the value smoothly over the horizon of the view.
            let size = region.bounds().size();
            let facing = foot.normal.dot(view.axes()[2]) * size.width.max(size.height);
            if *keep_inside { inside.min(facing) } else { (-inside).max(-facing) }
        }
    }
}
