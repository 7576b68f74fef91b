//! Lengths, angles, scales and dots per inch.
//!
//! The one rule: a [`Length`] belongs to a world. [`Full`] is the real thing,
//! [`Model`] is plastic, paper and film. Only a [`Scale`] leads from one to the
//! other, and only in one direction, so scaling twice does not compile:
//!
//! ```compile_fail
//! use markloft::units::{Full, Length, Scale};
//! let stripe: Length<Full> = Length::inches(18.0);
//! let once = stripe.at(Scale::one_to(48.0).unwrap());
//! let twice = once.at(Scale::one_to(48.0).unwrap()); // no `at` on Length<Model>
//! ```
//!
//! This file is the only home of 25.4, 72 and 96. It does not read text: the
//! words a spec uses for lengths are the spec's business.

use std::fmt;
use std::marker::PhantomData;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

/// Millimetres in an inch, exact by definition (international yard and pound agreement, 1959).
pub const MM_PER_INCH: f64 = 25.4;
/// Inches in a foot.
pub const INCHES_PER_FOOT: f64 = 12.0;
/// PDF user units (points) in an inch, ISO 32000.
pub const POINTS_PER_INCH: f64 = 72.0;
/// CSS pixels in an inch, SVG 1.1 and CSS Values.
pub const PIXELS_PER_INCH: f64 = 96.0;

/// One of the two worlds a length can live in.
pub trait World: Copy + Clone + fmt::Debug + PartialEq + PartialOrd + Send + Sync + 'static {}

/// The real thing, at the size the handbook gives.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub enum Full {}

/// Plastic, paper, film: what the calipers touch.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub enum Model {}

impl World for Full {}
impl World for Model {}

/// A length in one of the two worlds, kept in millimetres.
#[derive(Clone, Copy, PartialEq, PartialOrd)]
pub struct Length<W> {
    mm: f64,
    world: PhantomData<W>,
}

impl<W> Length<W> {
    /// No length at all.
    pub const ZERO: Self = Self::mm(0.0);

    /// From millimetres.
    pub const fn mm(mm: f64) -> Self {
        Self { mm, world: PhantomData }
    }

    /// From inches.
    pub const fn inches(inches: f64) -> Self {
        Self::mm(inches * MM_PER_INCH)
    }

    /// In millimetres.
    pub const fn to_mm(self) -> f64 {
        self.mm
    }

    /// In inches.
    pub const fn to_inches(self) -> f64 {
        self.mm / MM_PER_INCH
    }

    /// In PDF points.
    pub const fn to_points(self) -> f64 {
        self.mm / MM_PER_INCH * POINTS_PER_INCH
    }
}

impl Length<Full> {
    /// The same length on a model of this scale.
    #[must_use]
    pub fn at(self, scale: Scale) -> Length<Model> {
        Length::mm(self.mm / scale.denominator)
    }
}

impl Length<Model> {
    /// The full-size length that a model of this scale shows with it.
    #[must_use]
    pub fn stands_for(self, scale: Scale) -> Length<Full> {
        Length::mm(self.mm * scale.denominator)
    }
}

impl<W> fmt::Debug for Length<W> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mm", self.mm)
    }
}

impl<W> Add for Length<W> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::mm(self.mm + other.mm)
    }
}

impl<W> AddAssign for Length<W> {
    fn add_assign(&mut self, other: Self) {
        self.mm += other.mm;
    }
}

impl<W> Sub for Length<W> {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::mm(self.mm - other.mm)
    }
}

impl<W> Neg for Length<W> {
    type Output = Self;
    fn neg(self) -> Self {
        Self::mm(-self.mm)
    }
}

impl<W> Mul<f64> for Length<W> {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::mm(self.mm * factor)
    }
}

impl<W> Div<f64> for Length<W> {
    type Output = Self;
    fn div(self, divisor: f64) -> Self {
        Self::mm(self.mm / divisor)
    }
}

impl<W> Div for Length<W> {
    type Output = f64;
    fn div(self, other: Self) -> f64 {
        self.mm / other.mm
    }
}

/// Width and height of something flat, heading along the width.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size<W> {
    pub width: Length<W>,
    pub height: Length<W>,
}

impl Size<Full> {
    /// The same size on a model of this scale.
    #[must_use]
    pub fn at(self, scale: Scale) -> Size<Model> {
        Size { width: self.width.at(scale), height: self.height.at(scale) }
    }
}

/// A plane angle.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Angle {
    radians: f64,
}

impl Angle {
    pub const ZERO: Self = Self { radians: 0.0 };

    pub const fn radians(radians: f64) -> Self {
        Self { radians }
    }

    pub const fn degrees(degrees: f64) -> Self {
        Self { radians: degrees.to_radians() }
    }

    pub const fn to_radians(self) -> f64 {
        self.radians
    }

    pub const fn to_degrees(self) -> f64 {
        self.radians.to_degrees()
    }

    /// Sine and cosine, the same bits on every machine.
    pub fn sin_cos(self) -> (f64, f64) {
        libm::sincos(self.radians)
    }
}

impl Neg for Angle {
    type Output = Self;
    fn neg(self) -> Self {
        Self::radians(-self.radians)
    }
}

impl Sub for Angle {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::radians(self.radians - other.radians)
    }
}

impl Div<f64> for Angle {
    type Output = Self;
    fn div(self, divisor: f64) -> Self {
        Self::radians(self.radians / divisor)
    }
}

/// A model's scale: one over its denominator. `full` is 1/1.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Scale {
    denominator: f64,
}

impl Scale {
    /// The real thing.
    pub const FULL: Self = Self { denominator: 1.0 };

    /// The smallest scale that is not taken for a slip of the pen.
    pub const SMALLEST: f64 = 10_000.0;

    /// 1/`denominator`; `None` when that is not a number from 1/10000 up to 100/1.
    pub fn one_to(denominator: f64) -> Option<Self> {
        (0.01..=Self::SMALLEST).contains(&denominator).then_some(Self { denominator })
    }

    /// The number under the stroke: 48 for 1/48.
    pub const fn denominator(self) -> f64 {
        self.denominator
    }

    /// Model size over full size: 1/48 = 0.0208….
    pub const fn ratio(self) -> f64 {
        1.0 / self.denominator
    }

    /// The scale whose models are `factor` times as large as this one's.
    #[must_use]
    pub fn enlarged(self, factor: f64) -> Self {
        Self { denominator: self.denominator / factor }
    }

    /// A name that is safe for a folder on any system: `1-48`, `1-72.5`, `full`.
    pub fn folder(self) -> String {
        self.to_string().replace('/', "-")
    }
}

impl Default for Length<Model> {
    fn default() -> Self {
        Self::ZERO
    }
}

impl fmt::Display for Scale {
    /// `1/48`, as the trade writes it; a tenth is shown where it is not whole, and of scales near full size four places.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.denominator == 1.0 {
            return f.write_str("full");
        }
        let places = if self.denominator < 10.0 { 1e4 } else { 10.0 };
        write!(f, "1/{}", (self.denominator * places).round() / places)
    }
}

/// Dots per inch.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Dpi(f64);

impl Dpi {
    /// Common practice for decal printers, no source.
    pub const DEFAULT: Self = Self(600.0);

    /// `None` below 30 or above 2400 dpi: a page that nobody can use, or that no film can hold.
    pub fn new(dots_per_inch: f64) -> Option<Self> {
        (30.0..=2400.0).contains(&dots_per_inch).then_some(Self(dots_per_inch))
    }

    pub const fn per_inch(self) -> f64 {
        self.0
    }

    /// Whole pixels that show this length.
    pub fn pixels(self, length: Length<Model>) -> u32 {
        (length.to_inches() * self.0).round() as u32
    }

    /// Pixels per metre for the PNG `pHYs` chunk, rounded as the PNG specification asks.
    pub fn per_metre(self) -> u32 {
        (self.0 / MM_PER_INCH * 1000.0).round() as u32
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eighteen_inches_at_one_to_forty_eight() {
        // Five-stripe bands of 1944, 18 in on single-engined aircraft: Smithsonian NASM.
        let stripe: Length<Full> = Length::inches(18.0);
        let model = stripe.at(Scale::one_to(48.0).unwrap());
        assert!((model.to_mm() - 9.525).abs() < 1e-12);
        assert!((model.stands_for(Scale::one_to(48.0).unwrap()).to_inches() - 18.0).abs() < 1e-12);
    }

    #[test]
    fn pixels_per_metre_as_png_writers_round_them() {
        // 300, 600 and 1200 dpi as Pillow writes pHYs: 11811, 23622, 47244.
        let per_metre = |dpi| Dpi::new(dpi).unwrap().per_metre();
        assert_eq!([per_metre(300.0), per_metre(600.0), per_metre(1200.0)], [11811, 23622, 47244]);
    }

    #[test]
    fn a4_in_points() {
        // ISO 216 A4, 210 × 297 mm, in PDF user units of 1/72 in (ISO 32000).
        let (w, h) = (Length::<Model>::mm(210.0), Length::<Model>::mm(297.0));
        assert!((w.to_points() - 210.0 * 72.0 / 25.4).abs() < 1e-9);
        assert!((h.to_points() - 841.88976).abs() < 1e-5);
    }

    #[test]
    fn scales_are_written_as_the_trade_writes_them() {
        let shown = |d| Scale::one_to(d).unwrap().to_string();
        assert_eq!([shown(48.0), shown(72.5), shown(1.0)], ["1/48", "1/72.5", "full"]);
        assert_eq!([shown(50.6173), shown(0.02), shown(2.5)], ["1/50.6", "1/0.02", "1/2.5"]);
        assert_eq!(Scale::one_to(0.0), None);
        assert_eq!(Scale::one_to(f64::NAN), None);
        assert_eq!(Scale::one_to(48.0).unwrap().folder(), "1-48");
    }
}
