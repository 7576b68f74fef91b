//! Energies of a map from the part to the flat, for flattening.
//!
//! A triangle's linear map G, part to flat, is z ↦ αz + βz̄ in complex numbers; its
//! principal stretches are |α| ± |β|. Whatever does not depend on direction is a
//! function of s = |α|² + |β|² = ½ tr GᵀG and D = |α|² − |β|² = det G, and its
//! second derivatives fall apart into a 2 × 2 block along α and β and one number
//! each across them: no singular value decomposition is needed, and negative
//! curvature is taken out in closed form (compare Smith, De Goes and Kim,
//! *Analytic eigensystems for isotropic distortion energies*, ACM ToG 38:3, 2019).

/// Which energy a flattening makes least, per area of the part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Measure {
    /// The energy of the film, pulled from the flat onto the part, for this Poisson's ratio.
    Film { poisson: f64 },
    /// (σ₁ − 1)² + (σ₂ − 1)², as rigid as possible (Liu et al., *A local/global approach to mesh
    /// parameterization*, 2008). No barrier against flips: a start.
    Rigid,
    /// σ₁² + σ₂² + σ₁⁻² + σ₂⁻², symmetric Dirichlet (Smith and Schaefer, 2015): to compare with others.
    Dirichlet,
}

/// An energy h(s, D) with its derivatives.
#[derive(Clone, Copy, Debug)]
pub struct Value {
    pub energy: f64,
    by_s: f64,
    by_d: f64,
    by_ss: f64,
    by_sd: f64,
    by_dd: f64,
}

/// Derivatives along α and β (`radial`: ∂q, ∂r, ∂qq, ∂qr, ∂rr with q = |α|, r = |β|), and the second ones across.
#[derive(Clone, Copy, Debug)]
pub struct Curvature {
    pub slope: [f64; 2],
    pub along: [f64; 3],
    pub across: [f64; 2],
}

impl Measure {
    /// At s and D; D must be positive.
    pub fn at(self, s: f64, d: f64) -> Value {
        match self {
            Self::Film { poisson } => {
                // W(G⁻¹) per flat area times det G: μ(s/D − D + D ln D) + λ/2 D ln² D.
                let (mu, lambda) = (0.5 / (1.0 + poisson), poisson / (1.0 - poisson * poisson));
                let log = libm::log(d);
                Value {
                    energy: mu * (s / d - d + d * log) + lambda / 2.0 * d * log * log,
                    by_s: mu / d,
                    by_d: mu * (log - s / (d * d)) + lambda * (log * log / 2.0 + log),
                    by_ss: 0.0,
                    by_sd: -mu / (d * d),
                    by_dd: mu * (1.0 / d + 2.0 * s / (d * d * d)) + lambda * (log + 1.0) / d,
                }
            }
            Self::Rigid => {
                // 2s − 4q + 2 with q = √((s + D)/2).
                let q = ((s + d) / 2.0).sqrt();
                let third = 1.0 / (4.0 * q * q * q);
                Value {
                    energy: 2.0 * s - 4.0 * q + 2.0,
                    by_s: 2.0 - 1.0 / q,
                    by_d: -1.0 / q,
                    by_ss: third,
                    by_sd: third,
                    by_dd: third,
                }
            }
            Self::Dirichlet => {
                let inverse = 1.0 / (d * d);
                Value {
                    energy: 2.0 * s * (1.0 + inverse),
                    by_s: 2.0 * (1.0 + inverse),
                    by_d: -4.0 * s * inverse / d,
                    by_ss: 0.0,
                    by_sd: -4.0 * inverse / d,
                    by_dd: 12.0 * s * inverse * inverse,
                }
            }
        }
    }
}

impl Value {
    /// Derivatives by |α| = q and |β| = r, of h(q² + r², q² − r²).
    pub fn curvature(&self, q: f64, r: f64) -> Curvature {
        let (by_u, by_v) = (self.by_s + self.by_d, self.by_s - self.by_d);
        let by_uu = self.by_ss + 2.0 * self.by_sd + self.by_dd;
        let by_vv = self.by_ss - 2.0 * self.by_sd + self.by_dd;
        let by_uv = self.by_ss - self.by_dd;
        Curvature {
            slope: [2.0 * q * by_u, 2.0 * r * by_v],
            along: [2.0 * by_u + 4.0 * q * q * by_uu, 4.0 * q * r * by_uv, 2.0 * by_v + 4.0 * r * r * by_vv],
            across: [2.0 * by_u, 2.0 * by_v],
        }
    }
}

impl Curvature {
    /// Without its negative directions.
    #[must_use]
    pub fn convex(self) -> Self {
        Self { along: positive_part(self.along), across: self.across.map(|c| c.max(0.0)), ..self }
    }
}

/// The positive part of a symmetric matrix `[a, b, c]`.
fn positive_part([a, b, c]: [f64; 3]) -> [f64; 3] {
    let (mean, half) = ((a + c) / 2.0, (a - c) / 2.0);
    let radius = (half * half + b * b).sqrt();
    let (high, low) = (mean + radius, mean - radius);
    if low >= 0.0 {
        return [a, b, c];
    }
    if high <= 0.0 {
        return [0.0; 3];
    }
    // high times the projector on its direction, (M − low)/(high − low).
    let scale = high / (high - low);
    [(a - low) * scale, b * scale, (c - low) * scale]
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Measure; 3] = [Measure::Film { poisson: 0.4 }, Measure::Rigid, Measure::Dirichlet];

    fn by_stretches(measure: Measure, one: f64, two: f64) -> f64 {
        let (q, r) = ((one + two) / 2.0, (one - two) / 2.0);
        measure.at(q * q + r * r, q * q - r * r).energy
    }

    #[test]
    fn energies_are_what_they_are_called() {
        let (one, two) = (1.3f64, 0.8f64);
        let rigid = libm::pow(one - 1.0, 2.0) + libm::pow(two - 1.0, 2.0);
        assert!((by_stretches(Measure::Rigid, one, two) - rigid).abs() < 1e-14);
        let dirichlet = one * one + two * two + 1.0 / (one * one) + 1.0 / (two * two);
        assert!((by_stretches(Measure::Dirichlet, one, two) - dirichlet).abs() < 1e-13);
        // The film's law in the stretches from flat to part, times the flat area.
        let (mu, lambda, log) = (0.5 / 1.4, 0.4 / 0.84, -libm::log(one * two));
        let stretch = 1.0 / (one * one) + 1.0 / (two * two);
        let film = (mu / 2.0 * (stretch - 2.0 - 2.0 * log) + lambda / 2.0 * log * log) * one * two;
        assert!((by_stretches(Measure::Film { poisson: 0.4 }, one, two) - film).abs() < 1e-14);
    }

    #[test]
    fn derivatives_are_those_of_the_energy() {
        let (q, r, step) = (1.1, 0.25, 1e-4);
        for measure in ALL {
            let at = |dq: f64, dr: f64| {
                let (q, r) = (q + dq, r + dr);
                measure.at(q * q + r * r, q * q - r * r).energy
            };
            let got = measure.at(q * q + r * r, q * q - r * r).curvature(q, r);
            let slope =
                [at(step, 0.0) - at(-step, 0.0), at(0.0, step) - at(0.0, -step)].map(|d| d / (2.0 * step));
            let here = at(0.0, 0.0);
            let square = step * step;
            let along = [
                (at(step, 0.0) - 2.0 * here + at(-step, 0.0)) / square,
                (at(step, step) - at(step, -step) - at(-step, step) + at(-step, -step)) / (4.0 * square),
                (at(0.0, step) - 2.0 * here + at(0.0, -step)) / square,
            ];
            for (a, b) in slope.iter().chain(&along).zip(got.slope.iter().chain(&got.along)) {
                assert!((a - b).abs() < 1e-5 * (1.0 + a.abs()), "{measure:?} {a} {b}");
            }
            assert!(
                (got.across[0] - slope[0] / q).abs() < 1e-5 && (got.across[1] - slope[1] / r).abs() < 1e-5
            );
        }
    }

    #[test]
    fn positive_part_keeps_what_is_positive() {
        assert_eq!(positive_part([2.0, 0.5, 1.0]), [2.0, 0.5, 1.0]);
        assert_eq!(positive_part([-2.0, 0.5, -1.0]), [0.0; 3]);
        // Eigenvalues 3 and −1 along the diagonals.
        let [a, b, c] = positive_part([1.0, 2.0, 1.0]);
        assert!((a - 1.5).abs() < 1e-14 && (b - 1.5).abs() < 1e-14 && (c - 1.5).abs() < 1e-14);
    }
}
