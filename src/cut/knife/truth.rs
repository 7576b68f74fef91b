//! From where a line should be to where this machine must be told to cut it.
//!
//! Two corrections, neither the printer's. A printed sheet lies shifted, turned
//! and stretched: three marks printed with it and found on the machine tell all
//! of that, as one affine map. The machine itself cuts a square of 100 mm a
//! little off: it is told lengths that much longer or shorter.

use crate::flow::{Cutter, MEASURED_SQUARE, Make, Plan, Sheet};
use crate::outline::{Point, Polyline, Vector, point};

/// `p` goes to `origin + x·p.x + y·p.y`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Truth {
    origin: Point,
    x: Vector,
    y: Vector,
}

impl Truth {
    const NONE: Self = Self { origin: point(0.0, 0.0), x: Vector::new(1.0, 0.0), y: Vector::new(0.0, 1.0) };

    /// For one sheet. Marks are printed on decal sheets alone.
    pub fn of(plan: &Plan, cutter: &Cutter, sheet: &Sheet) -> Self {
        let printed = match cutter.marks {
            Some(found) if sheet.make == Make::Decal => {
                Self::between(plan.sheets_of(sheet.make).register_marks(), found)
            }
            _ => Self::NONE,
        };
        let told = |measured: crate::units::Length<_>| MEASURED_SQUARE.to_mm() / measured.to_mm();
        let (x, y) = (told(cutter.measured.width), told(cutter.measured.height));
        let scaled = |v: Vector| Vector::new(v.x * x, v.y * y);
        Self {
            origin: scaled(printed.origin.to_vector()).to_point(),
            x: scaled(printed.x),
            y: scaled(printed.y),
        }
    }

    /// The map that takes three points to three others; no map where they lie in a line.
    fn between(from: [Point; 3], to: [Point; 3]) -> Self {
        let (u, v) = (from[1] - from[0], from[2] - from[0]);
        let area = u.cross(v);
        if area.abs() < 1e-9 {
            return Self::NONE;
        }
        let (a, b) = (to[1] - to[0], to[2] - to[0]);
        // What one millimetre across and up becomes, by Cramer's rule.
        let x = (a * v.y - b * u.y) / area;
        let y = (b * u.x - a * v.x) / area;
        Self { origin: to[0] - x * from[0].x - y * from[0].y, x, y }
    }

    pub fn of_point(&self, p: Point) -> Point {
        self.origin + self.x * p.x + self.y * p.y
    }

    pub fn of_line(&self, line: &[Point]) -> Polyline {
        line.iter().map(|&p| self.of_point(p)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::turned;

    #[test]
    fn marks_undo_shift_turn_and_stretch() {
        let from = [point(4.0, 4.0), point(206.0, 4.0), point(4.0, 293.0)];
        // Stretched 0.4 % across and −0.2 % up, turned by 0.7°, shifted.
        let print = |p: Point| {
            (turned(Vector::new(p.x * 1.004, p.y * 0.998), 0.7f64.to_radians()) + Vector::new(1.3, -0.4))
                .to_point()
        };
        let truth = Truth::between(from, from.map(print));
        for p in [point(0.0, 0.0), point(100.0, 150.0), point(206.0, 293.0)] {
            assert!((truth.of_point(p) - print(p)).length() < 1e-10);
        }
        assert_eq!(Truth::between(from, from).of_point(point(7.0, 9.0)), point(7.0, 9.0));
    }
}
