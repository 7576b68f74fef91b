//! How much energy a stretched triangle of film holds.
//!
//! The film is a membrane (no bending). With C = FᵀF the metric of the laid
//! triangle in flat coordinates, energy per flat area, for Young's modulus times
//! thickness 1, is
//!
//! W = μ/2 (tr C − 2 − ln det C) + λ/8 (ln det C)², μ = 1/2(1+ν), λ = ν/(1−ν²),
//!
//! which is plane stress for small strain, and infinite before a triangle flips.
//! A linear triangle knows C by the squares of its three laid edge lengths, in
//! which tr C is linear and det C quadratic (Heron): no singular values, and no
//! particular frame, are needed. Edges are numbered by the corner across.

/// The film's elastic constants.
#[derive(Clone, Copy, Debug)]
pub struct Law {
    mu: f64,
    lambda: f64,
}

/// A flat triangle, as the energy needs it.
#[derive(Clone, Copy, Debug)]
pub struct Rest {
    /// Squared edge lengths, mm².
    pub squares: [f64; 3],
    /// mm².
    pub area: f64,
}

/// W and its first and second derivatives by the squared laid edge lengths.
#[derive(Clone, Copy, Debug)]
pub struct Response {
    pub energy: f64,
    pub slope: [f64; 3],
    pub bend: [[f64; 3]; 3],
}

impl Rest {
    /// Derivatives of det C at rest, which are those of tr C: cotangents over twice the area.
    fn trace(&self) -> [f64; 3] {
        heron_slope(self.squares).map(|s| s / (16.0 * self.area * self.area))
    }

    /// Metric of the laid triangle in the frame whose x axis runs along the flat edge 2 (corner 0 to 1):
    /// `[C₁₁, C₁₂, C₂₂]`.
    pub fn metric(&self, laid: [f64; 3]) -> [f64; 3] {
        let [e0, e1, e2] = self.squares;
        let base = e2.sqrt();
        // Corner 2 at (x, y) above the base.
        let (x, y) = ((e2 + e1 - e0) / (2.0 * base), 2.0 * self.area / base);
        let along = laid[2] / e2;
        // C of the edge from 0 to 2 against the base, and with itself.
        let cross = (laid[2] + laid[1] - laid[0]) / (2.0 * base);
        let c12 = (cross - along * x) / y;
        [along, c12, (laid[1] - along * x * x - 2.0 * c12 * x * y) / (y * y)]
    }

    /// Principal stretches, the greater first.
    pub fn stretches(&self, laid: [f64; 3]) -> [f64; 2] {
        principal(self.metric(laid))
    }
}

/// Square roots of the eigenvalues of a symmetric matrix `[a₁₁, a₁₂, a₂₂]`, the greater first.
pub fn principal([a, b, c]: [f64; 3]) -> [f64; 2] {
    let (mean, half) = ((a + c) / 2.0, (a - c) / 2.0);
    let radius = (half * half + b * b).sqrt();
    [(mean + radius).sqrt(), (mean - radius).max(0.0).sqrt()]
}

/// Derivatives of Heron's 16 A² = 2 Σ qᵢqⱼ − Σ q² by the squares q.
fn heron_slope([a, b, c]: [f64; 3]) -> [f64; 3] {
    [b + c - a, c + a - b, a + b - c].map(|s| 2.0 * s)
}

impl Law {
    /// From Poisson's ratio, between 0 and 0.5.
    pub fn new(poisson: f64) -> Self {
        Self { mu: 0.5 / (1.0 + poisson), lambda: poisson / (1.0 - poisson * poisson) }
    }

    /// Energy per flat area; `None` where the lengths make no triangle.
    pub fn energy(&self, rest: &Rest, laid: [f64; 3]) -> Option<f64> {
        let (stretch, log, _) = self.terms(rest, laid)?;
        Some(self.mu / 2.0 * (stretch - log) + self.lambda / 8.0 * log * log)
    }

    /// tr C − 2, ln det C and det C, from the changes of the squares so that small strains keep their digits.
    fn terms(&self, rest: &Rest, laid: [f64; 3]) -> Option<(f64, f64, f64)> {
        let trace = rest.trace();
        let change = [0, 1, 2].map(|e| laid[e] - rest.squares[e]);
        let stretch: f64 = (0..3).map(|e| trace[e] * change[e]).sum();
        let slope = heron_slope(change);
        let second: f64 = (0..3).map(|e| slope[e] * change[e]).sum::<f64>() / 2.0;
        let grown = stretch + second / (16.0 * rest.area * rest.area);
        (grown > -1.0 && laid.iter().all(|&q| q > 0.0)).then(|| (stretch, libm::log1p(grown), 1.0 + grown))
    }

    /// Energy, slopes and second derivatives; `None` where the lengths make no triangle. With
    /// `convex` what would make the second derivatives indefinite is left out (it takes an area
    /// more than e^(μ/λ) times the flat one).
    pub fn response(&self, rest: &Rest, laid: [f64; 3], convex: bool) -> Option<Response> {
        let (stretch, log, det) = self.terms(rest, laid)?;
        let area16 = 16.0 * rest.area * rest.area;
        let trace = rest.trace();
        let log_slope = heron_slope(laid).map(|s| s / (area16 * det));
        let outer = self.lambda / 4.0;
        let inner = self.lambda / 4.0 * log - self.mu / 2.0;
        let kept = if convex { inner.min(0.0) } else { inner };
        let slope = [0, 1, 2].map(|e| self.mu / 2.0 * trace[e] + inner * log_slope[e]);
        let bend = [0, 1, 2].map(|e| {
            [0, 1, 2].map(|f| {
                let heron = if e == f { -2.0 } else { 2.0 } / (area16 * det);
                let product = log_slope[e] * log_slope[f];
                outer * product + kept * (heron - product)
            })
        });
        let energy = self.mu / 2.0 * (stretch - log) + self.lambda / 8.0 * log * log;
        Some(Response { energy, slope, bend })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A triangle and its image under F.
    fn pair(f: [[f64; 2]; 2]) -> (Rest, [f64; 3]) {
        let flat = [[0.0, 0.0], [1.3, 0.2], [0.4, 0.9]];
        let square = |p: [[f64; 2]; 3], e: usize| {
            let (a, b) = (p[(e + 1) % 3], p[(e + 2) % 3]);
            libm::pow(a[0] - b[0], 2.0) + libm::pow(a[1] - b[1], 2.0)
        };
        let area = (1.3 * 0.9 - 0.4 * 0.2) / 2.0;
        let laid = flat.map(|[x, y]| [f[0][0] * x + f[0][1] * y, f[1][0] * x + f[1][1] * y]);
        (Rest { squares: [0, 1, 2].map(|e| square(flat, e)), area }, [0, 1, 2].map(|e| square(laid, e)))
    }

    #[test]
    fn energy_is_the_law_in_principal_stretches() {
        // F = diag(a, b) turned by any rotation: W = μ/2 (a² + b² − 2 − 2 ln ab) + λ/2 ln²(ab).
        let (a, b) = (1.07, 0.81);
        let (sin, cos) = libm::sincos(0.7);
        let (rest, laid) = pair([[cos * a, -sin * b], [sin * a, cos * b]]);
        let (mu, lambda) = (0.5 / 1.4, 0.4 / 0.84);
        let log = libm::log(a * b);
        let expected = mu / 2.0 * (a * a + b * b - 2.0 - 2.0 * log) + lambda / 2.0 * log * log;
        assert!((Law::new(0.4).energy(&rest, laid).unwrap() - expected).abs() < 1e-14);
        let [one, two] = rest.stretches(laid);
        assert!((one - a).abs() < 1e-12 && (two - b).abs() < 1e-12);
    }

    #[test]
    fn small_strain_is_plane_stress() {
        // Uniaxial stress σ in a bar: strain σ along it, −νσ across it, energy σ²/2 (E = 1).
        let strain = 1e-5;
        let (rest, laid) = pair([[1.0 + strain, 0.0], [0.0, 1.0 - 0.3 * strain]]);
        let energy = Law::new(0.3).energy(&rest, laid).unwrap();
        assert!((energy / (strain * strain / 2.0) - 1.0).abs() < 1e-4, "{energy}");
    }

    #[test]
    fn derivatives_are_those_of_the_energy() {
        let law = Law::new(0.4);
        let (rest, laid) = pair([[1.2, 0.1], [-0.2, 0.8]]);
        let exact = law.response(&rest, laid, false).unwrap();
        let step = 1e-5;
        let nudged = |e: usize, by: f64| {
            let mut q = laid;
            q[e] += by;
            law.response(&rest, q, false).unwrap()
        };
        for e in 0..3 {
            let (up, down) = (nudged(e, step), nudged(e, -step));
            assert!(((up.energy - down.energy) / (2.0 * step) - exact.slope[e]).abs() < 1e-9);
            for f in 0..3 {
                let slope = (up.slope[f] - down.slope[f]) / (2.0 * step);
                assert!((slope - exact.bend[e][f]).abs() < 1e-8, "{slope} {}", exact.bend[e][f]);
            }
        }
    }

    #[test]
    fn convex_part_is_positive_for_any_shape_and_a_flip_is_refused() {
        let law = Law::new(0.45);
        for f in [[[1.0, 0.0], [0.0, 1.0]], [[3.0, 0.4], [0.0, 2.5]], [[0.3, 0.0], [0.2, 0.2]]] {
            let (rest, laid) = pair(f);
            let bend = law.response(&rest, laid, true).unwrap().bend;
            for k in 0..200 {
                let (s, c) = libm::sincos(f64::from(k));
                let v = [s, c, libm::sin(3.1 * f64::from(k))];
                let form: f64 = (0..3)
                    .flat_map(|e| (0..3).map(move |f| (e, f)))
                    .map(|(e, f)| v[e] * bend[e][f] * v[f])
                    .sum();
                assert!(form > -1e-12, "{form}");
            }
        }
        let (rest, _) = pair([[1.0, 0.0], [0.0, 1.0]]);
        assert!(law.energy(&rest, [1.0, 1.0, 4.1]).is_none());
    }
}
