//! What a marking is made as where the spec leaves it open.
//!
//! **Common practice, no source**, in this order:
//! 1. tape, where it is stripes of a stocked width that lie down as tape does;
//! 2. a mask, where decal film would not lie down even softened: paint lies on anything;
//! 3. a mask, where one colour goes over more than 60 mm both ways: large decals trap air and show their edge;
//! 4. else a decal.
//!
//! A mask is left out where something is finer than mask film can be cut.

use super::{TOLERANCE, tape};
use crate::flow::{Draw, Fit, Give, Make, Marking, Plan};
use crate::outline::number::{said_share, said_size, short};
use crate::outline::width::is_finer;
use crate::units::Model;

/// One colour over more than this both ways is painted rather than covered with film, mm.
const LARGE: f64 = 60.0;

/// A strip shorter than so many of its widths is as easily cut from film as from a roll. Common practice, no source.
const STRIP: f64 = 4.0;

/// The choice and why, as words that go after "made as a decal: ".
pub fn choose(plan: &Plan, marking: &Marking, fit: &Fit<Model>) -> (Make, String) {
    let size = fit.run.unwrap_or(fit.size);
    let (long, across) = (size.width.to_mm(), size.height.to_mm());
    let squeeze = -fit.strain.squeeze_p99;
    if let Some(width) = stripe_width(marking, across)
        && tape::stocked(plan, width).is_some()
        && lies(fit, plan.films.tape.film.plain)
        && long > STRIP * width
    {
        let strain = said_share(squeeze.max(0.0));
        return (
            Make::Tape,
            format!("{} mm is a width in stock, and it lies down with {strain} of squeeze", short(width, 2)),
        );
    }
    let finest = plan.films.mask.finest_line.to_mm();
    let painted = if !lies(fit, plan.films.decal.softened) {
        format!(
            "no decal film lies down here ({} of squeeze), and nothing in it is finer than the {} mm a knife cuts",
            said_share(squeeze),
            short(finest, 2)
        )
    } else if fit.artwork.colours().len() == 1 && long.min(across) > LARGE {
        format!("one colour over {} × {} mm is better painted", short(long, 0), short(across, 0))
    } else {
        return (Make::Decal, format!("{}, and the film lies down", said_size(long, across)));
    };
    if finer_than(fit, finest) {
        let why =
            format!("something in it is finer than the {} mm that mask film can be cut", short(finest, 2));
        return (Make::Decal, why);
    }
    (Make::Mask, painted)
}

fn lies(fit: &Fit<Model>, give: Give) -> bool {
    fit.strain.stretch_p99 <= give.stretch && -fit.strain.squeeze_p99 <= give.squeeze
}

/// The one width of its stripes at the model, mm; `None` of anything that is no stripe of tape.
fn stripe_width(marking: &Marking, across: f64) -> Option<f64> {
    match &marking.draw {
        Draw::Stripe { width, end_width, colours, .. } if width == end_width => {
            Some(across / colours.len() as f64)
        }
        Draw::Band { widths, .. } if widths.iter().all(|width| *width == widths[0]) => {
            Some(across / widths.len() as f64)
        }
        _ => None,
    }
}

/// Whether a colour has more than a corner that is narrower than `width` mm, two per cent let pass.
fn finer_than(fit: &Fit<Model>, width: f64) -> bool {
    fit.artwork.colours().into_iter().any(|colour| {
        let area = fit.artwork.shown(colour, TOLERANCE);
        area.parts().iter().any(|bit| is_finer(bit, 0.98 * width))
    })
}
