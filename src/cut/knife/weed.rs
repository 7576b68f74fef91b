//! Lines that part the waste film between pieces, so that it peels off in strips.
//!
//! The pieces' boxes are parted by straight cuts from side to side, across where
//! a gap goes all the way, then up and down within each row, and so on until no
//! gap goes through. A line runs in the middle of its gap and touches no film.

use crate::outline::{Bounds, Point, Polyline, point};

/// A gap narrower than this is left as it is, mm: the strip would tear.
const LEAST: f64 = 1.0;
/// From the outermost film to the border, mm.
const BORDER: f64 = 3.0;
/// Deep enough for anything; a sheet of n rows of n pieces needs two.
const DEEPEST: u32 = 12;

/// The border round all films, kept inside `room`, and the lines in it.
pub fn lines(films: &[Bounds], room: &Bounds) -> Option<(Bounds, Vec<Polyline>)> {
    let all = films.iter().copied().reduce(|a, b| a.union(&b))?;
    let border = all.inflate(BORDER, BORDER).intersection(room)?;
    let mut lines = Vec::new();
    part(films, border, 0, &mut lines);
    Some((border, lines))
}

fn part(films: &[Bounds], room: Bounds, depth: u32, lines: &mut Vec<Polyline>) {
    if films.len() < 2 || depth > DEEPEST {
        return;
    }
    for across in [true, false] {
        // Along this axis the films are sorted; across it the lines run.
        let turn = |p: Point| if across { point(p.y, p.x) } else { p };
        let span = |film: &Bounds| [turn(film.min).x, turn(film.max).x];
        let mut sorted = films.to_vec();
        sorted.sort_by(|a, b| span(a)[0].total_cmp(&span(b)[0]));
        let mut groups: Vec<Vec<Bounds>> = Vec::new();
        let mut cuts = vec![turn(room.min).x];
        let mut reached = f64::NEG_INFINITY;
        for film in sorted {
            let [from, to] = span(&film);
            if let Some(group) = groups.last_mut().filter(|_| from < reached + LEAST) {
                group.push(film);
            } else {
                if !groups.is_empty() {
                    cuts.push((from + reached) / 2.0);
                }
                groups.push(vec![film]);
            }
            reached = reached.max(to);
        }
        if groups.len() < 2 {
            continue;
        }
        cuts.push(turn(room.max).x);
        let ends = [turn(room.min).y, turn(room.max).y];
        for &cut in &cuts[1..cuts.len() - 1] {
            lines.push(ends.map(|end| turn(point(cut, end))).to_vec());
        }
        for (group, cut) in groups.iter().zip(cuts.windows(2)) {
            let inner = Bounds::new(turn(point(cut[0], ends[0])), turn(point(cut[1], ends[1])));
            part(group, inner, depth + 1, lines);
        }
        return;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_parted_then_pieces_and_no_line_touches_film() {
        let film = |x: f64, y: f64| Bounds::new(point(x, y), point(x + 8.0, y + 5.0));
        let films: Vec<Bounds> =
            (0..12).map(|k| film(f64::from(k % 4) * 11.0, f64::from(k / 4) * 9.0)).collect();
        let room = Bounds::new(point(-20.0, -20.0), point(80.0, 80.0));
        let (border, lines) = self::lines(&films, &room).unwrap();
        // Two lines across, three in each of three rows.
        assert_eq!(lines.len(), 2 + 9);
        assert!((border.min.x + BORDER).abs() < 1e-12);
        for line in &lines {
            let along = Bounds::from_points(line.iter().copied()).inflate(0.4, 0.4);
            assert!(films.iter().all(|film| !film.intersects(&along)), "{line:?}");
        }
    }
}
