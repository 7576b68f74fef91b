//! Lines of letters beneath one another, or one along an arc.
//!
//! The ground of lettering is the strip that it stands on: letters of a word are on one
//! piece of film, so film between them is part of the piece. Straight, it is the lines'
//! boxes and what joins them; along an arc, the sector of a ring. Letters on an arc keep
//! their form and are only turned; the way between them is kept where they come closest.

use super::{Unit, ink};
use crate::flow::{Align, Bow, Setting};
use crate::outline::{Bounds, Contour, Outline, Point, Region, Segment, Vector, point, turned};
use crate::units::{Full, Length};

/// Letters in their places, and the ground that they stand on.
pub struct Set {
    pub letters: Outline<Full>,
    pub ground: Outline<Full>,
}

pub fn set(lines: &[Vec<Unit>], height: f64, setting: &Setting) -> Set {
    match (setting.bow, lines) {
        (Some(bow), [line]) => bowed(line, height, &bow),
        _ => straight(lines, height, setting),
    }
}

fn straight(lines: &[Vec<Unit>], height: f64, setting: &Setting) -> Set {
    let mut letters = Outline::new(Vec::new());
    let mut boxes: Vec<Bounds> = Vec::new();
    for (k, line) in lines.iter().enumerate() {
        let Some(bounds) = ink(line) else { continue };
        let x = match setting.align {
            Align::Left => bounds.min.x,
            Align::Centre => bounds.center().x,
            Align::Right => bounds.max.x,
        };
        let step = Vector::new(-x, -(k as f64) * (height + setting.line_gap.to_mm()));
        for unit in line {
            letters.extend(&unit.outline.moved(step));
        }
        boxes.push(bounds.translate(step));
    }
    Set { letters, ground: stacked(&boxes) }
}

/// Boxes from the top down, each joined to the next where they are over one another.
fn stacked(boxes: &[Bounds]) -> Outline<Full> {
    let outline = |area: &Bounds| Outline::rectangle(area.center(), area.width(), area.height());
    if let [only] = boxes {
        return outline(only);
    }
    let between = boxes.windows(2).map(|pair| {
        let (x0, x1) = (pair[0].min.x.max(pair[1].min.x), pair[0].max.x.min(pair[1].max.x));
        let (y0, y1) = (pair[1].center().y, pair[0].center().y);
        Bounds::new(point(x0.min(x1), y0), point(x1.max(x0), y1))
    });
    // Straight edges only: any tolerance is exact.
    let rings = boxes.iter().copied().chain(between).flat_map(|area| outline(&area).flattened(1.0).rings);
    Region::new(rings.collect()).cleaned().to_outline()
}

fn bowed(line: &[Unit], height: f64, bow: &Bow) -> Set {
    let radius = bow.radius.to_mm();
    let spaced = bow.spaced_at(Length::mm(height)).to_mm();
    let sense = if bow.under { 1.0 } else { -1.0 };
    // The arc's middle is the origin; letters stand away from its centre, or head to it.
    let centre = point(0.0, sense * radius);
    let Some(bounds) = ink(line) else {
        return Set { letters: Outline::new(Vec::new()), ground: Outline::new(Vec::new()) };
    };
    let mut letters = Outline::new(Vec::new());
    let (mut first, mut last) = (f64::INFINITY, f64::NEG_INFINITY);
    let (mut near, mut far) = (f64::INFINITY, 0.0f64);
    for unit in line {
        let middle = unit.middle();
        let angle = (middle - bounds.center().x) / spaced;
        let foot = turned(Vector::new(0.0, -sense * radius), sense * angle);
        letters.extend(
            &unit
                .outline
                .moved(Vector::new(-middle, 0.0))
                .turned(sense * angle)
                .moved(centre.to_vector() + foot),
        );
        // The unit's own box, upright: x beside its middle, y over the arc.
        let own = unit.outline.bounds();
        for x in [own.min.x - middle, own.max.x - middle] {
            for y in [own.min.y, own.max.y] {
                let reach = radius - sense * y;
                let beside = libm::atan2(x, reach);
                (first, last) = (first.min(angle + beside), last.max(angle + beside));
                far = far.max(libm::hypot(x, reach));
                near = near.min(reach.abs());
            }
        }
    }
    Set { letters, ground: sector(centre, [near, far], [first, last], sense) }
}

/// Part of a ring about `centre`, between two angles from the middle of the arc.
fn sector(centre: Point, [near, far]: [f64; 2], [first, last]: [f64; 2], sense: f64) -> Outline<Full> {
    let at = |radius: f64, angle: f64| centre + turned(Vector::new(0.0, -sense * radius), sense * angle);
    // Counter-clockwise: over the arc angles run clockwise.
    let (from, to) = if sense > 0.0 { (first, last) } else { (last, first) };
    let arc = |radius: f64, from: f64, to: f64| {
        // In quarters at most, so that no arc is too long for its end points to tell.
        let count = ((to - from).abs() / 1.5).ceil().max(1.0);
        let step = (to - from) / count;
        (1..=count as usize).map(move |k| Segment::Arc {
            centre,
            sweep: sense * step,
            to: at(radius, from + step * k as f64),
        })
    };
    let mut segments: Vec<Segment> = arc(far, from, to).collect();
    segments.push(Segment::Line { to: at(near, to) });
    segments.extend(arc(near, to, from));
    Outline::new(vec![Contour { start: at(far, from), segments }])
}
