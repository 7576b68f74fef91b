//! A tab: a tongue of film past a mask's rear edge, to lift it by and to bring the next mask over it.
//!
//! It lies on the line of the heading, so that films of the same outer edge have it at the same place.
//! Left out: which masks want one.

use super::{Outline, Point, Region, point};
use crate::units::{Length, Model};

/// Radius of the tongue's corners, as a share of its side: no corner to catch and lift by itself.
const ROUND: f64 = 0.25;

/// The film with a tongue that stands out by `side` and is as wide, where one is asked for.
#[must_use]
pub fn tabbed(film: Region<Model>, side: Option<Length<Model>>) -> Region<Model> {
    let Some((side, root)) = side.map(Length::to_mm).zip(rear(&film)) else { return film };
    let round = ROUND * side;
    // From within the film, so that the two are one whatever way the edge runs there.
    let core = Outline::<Model>::rectangle(root, 2.0 * (side - round), side - 2.0 * round);
    film.union(&core.flattened(1.0).offset(round))
}

/// Where the line of the heading enters the film; its rearmost corner where that line passes it by.
fn rear(film: &Region<Model>) -> Option<Point> {
    let on_line = film.edges().filter(|(a, b)| (a.y <= 0.0) != (b.y <= 0.0));
    let entered = on_line.map(|(a, b)| point(a.x + (b.x - a.x) * (a.y / (a.y - b.y)), 0.0));
    let by_x = |a: &Point, b: &Point| a.x.total_cmp(&b.x);
    entered.min_by(by_x).or_else(|| film.rings.iter().flatten().copied().min_by(by_x))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tongue_stands_out_at_the_rear_and_nowhere_else() {
        let film: Region<Model> = Outline::circle(point(0.0, 0.0), 10.0).flattened(1e-3);
        let with = tabbed(film.clone(), Some(Length::mm(4.0)));
        let tongue = with.minus(&film).opened(0.01);
        let bounds = tongue.bounds();
        assert!((bounds.min.x + 14.0).abs() < 1e-3 && (bounds.height() - 4.0).abs() < 0.01, "{bounds:?}");
        assert_eq!((with.parts().len(), tongue.parts().len()), (1, 1));
        // A square of 4 × 4 without two corners, (1 − π/4) r² each, and what lies between it and the round
        // edge, which has fallen back by 10 − √96 at its sides: a third of that in the mean, nearly.
        let fallen = (10.0 - 96f64.sqrt()) / 3.0;
        let wanted = 16.0 - 2.0 * (1.0 - std::f64::consts::FRAC_PI_4) + 4.0 * fallen;
        assert!((tongue.area() - wanted).abs() < 0.02, "{} {wanted}", tongue.area());
        assert_eq!(tabbed(film.clone(), None), film);
    }

    #[test]
    fn film_beside_the_line_is_gripped_all_the_same() {
        let film: Region<Model> = Outline::rectangle(point(0.0, 20.0), 10.0, 10.0).flattened(1.0);
        let with = tabbed(film, Some(Length::mm(3.0)));
        assert_eq!(with.parts().len(), 1);
        assert!((with.bounds().min.x + 8.0).abs() < 1e-6);
    }
}
