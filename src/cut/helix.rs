//! A strip wound round a rod: closed forms.
//!
//! The rod unrolled is a plane that repeats every πd; a strip is straight on it.
//! With pitch P it rises by α, tan α = P/πd, and one turn of it is √(P² + π²d²)
//! long. Neighbouring turns of n strips lie P cos α / n apart, square to the
//! strip; w of that is covered. As much is bare as covered when P cos α = 2nw,
//! that is P = 2nw/√(1 − (2nw/πd)²): no pitch does it where 2nw ≥ πd, for there
//! the strips alone go more than half way round.
//!
//! Left out: the tape's thickness, and rods that taper.

use std::f64::consts::PI;

/// Angle to the rings round the rod, radians.
pub fn rise(diameter: f64, pitch: f64) -> f64 {
    libm::atan(pitch / (PI * diameter))
}

/// Way along the strip's middle in one turn, mm.
pub fn turn_length(diameter: f64, pitch: f64) -> f64 {
    libm::hypot(pitch, PI * diameter)
}

/// Bare rod between strips, square to them, mm; negative where they lap.
pub fn gap(diameter: f64, pitch: f64, width: f64, starts: u32) -> f64 {
    pitch * libm::cos(rise(diameter, pitch)) / f64::from(starts) - width
}

/// The pitch at which gap and width are the same, mm; `None` where 2nw ≥ πd.
pub fn equal_pitch(diameter: f64, width: f64, starts: u32) -> Option<f64> {
    let both = 2.0 * width * f64::from(starts);
    let share = both / (PI * diameter);
    (share < 1.0).then(|| both / libm::sqrt(1.0 - share * share))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_and_angles_are_those_of_the_unrolled_rod() {
        // Computed twice elsewhere: D = 10, pitch 20: 37.241917782372 a turn, rise 32.4816366°.
        assert!((turn_length(10.0, 20.0) - 37.241_917_782_372).abs() < 1e-11);
        assert!((rise(10.0, 20.0).to_degrees() - 32.481_636_6).abs() < 1e-7);
        // And by walking the helix itself in small straight steps.
        let (steps, d, pitch) = (200_000, 1.6, 3.7);
        let at = |k: i32| {
            let t = 2.0 * PI * f64::from(k) / f64::from(steps);
            [d / 2.0 * libm::cos(t), d / 2.0 * libm::sin(t), pitch * t / (2.0 * PI)]
        };
        let far = |[a, b]: [[f64; 3]; 2]| libm::sqrt((0..3).map(|k| (a[k] - b[k]) * (a[k] - b[k])).sum());
        let walked: f64 = (0..steps).map(|k| far([at(k), at(k + 1)])).sum();
        assert!((walked - turn_length(d, pitch)).abs() < 1e-9, "{walked}");
    }

    #[test]
    fn both_colours_are_equal_at_the_equal_pitch_and_no_pitch_does_it_past_half_way_round() {
        for (d, w, n) in [(1.58, 1.0, 1), (1.58, 0.5, 2), (10.0, 3.0, 1), (10.0, 3.0, 3)] {
            let pitch = equal_pitch(d, w, n).unwrap();
            assert!((gap(d, pitch, w, n) - w).abs() < 1e-9, "{d} {w} {n}");
            // Areas, counted on the unrolled rod: a turn covers n w × length of P πd.
            let covered = f64::from(n) * w * turn_length(d, pitch) / (pitch * PI * d);
            assert!((covered - 0.5).abs() < 1e-12, "{covered}");
        }
        assert_eq!(equal_pitch(1.0, PI / 2.0, 1), None);
        assert!(equal_pitch(1.0, PI / 2.0 - 1e-9, 1).is_some());
        assert_eq!(equal_pitch(10.0, 8.0, 2), None);
    }
}
