//! A piece laid again and again while its size is sought: one net that is stretched with it.
//!
//! The net is cut and ordered once. Each time it takes the new flat shape and starts from
//! where the film lay the time before, so that a small change costs two or three Newton
//! steps. Strains are not worked out; only where the film lies is asked for.

use super::Trouble;
use super::drape::{Level, Sheet};
use super::mesh::{spacing_for, triangulate};
use crate::flow::Film3;
use crate::outline::{Point, Polyline, Region};
use crate::surface::{Foot, Start, Surface};
use crate::units::Full;

/// A net and where it lay last.
pub struct Trial<'a> {
    surface: &'a dyn Surface,
    sheet: Sheet<'a>,
    /// Flat points as the net was cut.
    cut: Polyline,
    from: Option<Vec<Foot>>,
    last: Option<Level>,
}

impl<'a> Trial<'a> {
    /// A net of about this many triangles for a piece of this shape.
    ///
    /// # Errors
    /// [`Trouble::Outline`], [`Trouble::Memory`].
    pub fn new(
        surface: &'a dyn Surface,
        flat: &Region<Full>,
        start: &Start,
        triangles: usize,
        poisson: f64,
    ) -> Result<Self, Trouble> {
        let mesh = triangulate(flat, spacing_for(flat.area(), triangles as f64))?;
        let cut = mesh.points.clone();
        let sheet = Sheet::new(surface, mesh, start, poisson)?;
        Ok(Self { surface, sheet, cut, from: None, last: None })
    }

    /// Starts where a coarser net of the same piece lay last.
    #[must_use]
    pub fn after(mut self, coarse: &Self) -> Self {
        self.from = coarse.last.as_ref().map(|level| level.carried_to(self.surface, self.sheet.mesh()));
        self
    }

    /// Lays the piece with its flat points moved by `shape` from where they were cut.
    ///
    /// # Errors
    /// As [`Trouble`] says; the next laying then starts as this one did.
    pub fn lay(&mut self, shape: &dyn Fn(Point) -> Point, start: &Start) -> Result<Film3, Trouble> {
        self.sheet.reshape(self.cut.iter().map(|&q| shape(q)).collect(), start)?;
        let level = self.sheet.settle(start, self.from.as_deref())?;
        self.from = Some(level.feet.clone());
        let film = level.film();
        self.last = Some(level);
        Ok(film)
    }
}
