//! `wrinkle`, `stretch`, `unsettled`: how far the film must give to lie down.

use super::Case;
use crate::flow::{Code, CutKind, Film, Finding, Give, Lies, Relief, Severity, Strain};
use crate::outline::number::said_share;
use crate::units::Model;

/// What strains may be off by before it is told, as a share of what film bears as it is: a tenth changes nothing
/// that a modeller could see. Common practice, no source.
const FELT: f64 = 0.1;

pub fn rule(case: &Case<'_>) -> (Lies, Vec<Finding>) {
    let strain = &case.fit.strain;
    let relief = case.fit.relief.as_ref();
    let lies = lies(strain, relief, case.film);
    let mut found = Vec::new();
    let squeeze = -strain.squeeze_p99;
    let sides = [
        (Code::Wrinkle, "squeezed", squeeze, case.film.plain.squeeze, case.film.softened.squeeze),
        (Code::Stretch, "stretched", strain.stretch_p99, case.film.plain.stretch, case.film.softened.stretch),
    ];
    for (code, word, share, plain, softened) in sides {
        if share <= plain {
            continue;
        }
        let text = format!("the {} must be {word} by {}", case.make.word(), said_share(share));
        let (severity, help) = if let Some(relief) = relief.filter(|_| lies == Lies::Cut && share > softened)
        {
            (Severity::Warning, cutting(relief, code))
        } else if share > softened {
            let help = format!(
                "it takes {} as it is and {} softened: make the piece smaller, split it, or paint it",
                said_share(plain),
                said_share(softened)
            );
            (Severity::Error, help)
        } else {
            let help = format!(
                "it takes {} as it is: soften or warm it, as its maker says, and work from the hold point outwards",
                said_share(plain)
            );
            (Severity::Warning, help)
        };
        found.push(case.finding(code, severity, text, help));
    }
    let bears = case.film.plain.squeeze.min(case.film.plain.stretch);
    if !strain.settled && strain.estimate > FELT * bears {
        let text = format!("the strains are only known to {}", said_share(strain.estimate));
        found.push(case.finding(
            Code::Unsettled,
            Severity::Warning,
            text,
            "round off sharp corners, or split the piece".to_owned(),
        ));
    }
    (lies, found)
}

/// What to cut, and what is left to do for softening.
fn cutting(relief: &Relief<Model>, code: Code) -> String {
    let left = match code {
        Code::Stretch => format!("{} of stretch", said_share(relief.strain.stretch_p99)),
        _ => format!("{} of squeeze", said_share(-relief.strain.squeeze_p99)),
    };
    let count = match relief.cuts.len() {
        1 => String::new(),
        count => format!("{count} "),
    };
    let many = if relief.cuts.len() == 1 { "" } else { "s" };
    let way = match relief.kind {
        CutKind::Slit => {
            format!("slit it along the {count}line{many} numbered on the sheet, and let the lips lap")
        }
        CutKind::Dart => {
            format!("cut out the {count}dart{many} numbered on the sheet, and let their sides meet")
        }
        CutKind::Gore => format!("cut out the {count}darts numbered on the sheet, so that petals are left"),
    };
    // Darts part the film round a window: its middle holds it together while it is laid.
    let window = if relief.kind == CutKind::Slit { "" } else { ", the window lifted out only once it lies" };
    format!("{way}{window}: that leaves {left}, for film that is softened or warmed as its maker says")
}

fn lies(strain: &Strain, relief: Option<&Relief<Model>>, film: &Film) -> Lies {
    let bears = |strain: &Strain, give: Give| {
        -strain.squeeze_p99 <= give.squeeze && strain.stretch_p99 <= give.stretch
    };
    if bears(strain, film.plain) {
        Lies::Flat
    } else if bears(strain, film.softened) {
        Lies::Softened
    } else if relief.is_some_and(|relief| bears(&relief.strain, film.softened)) {
        Lies::Cut
    } else {
        Lies::No
    }
}

#[cfg(test)]
mod tests {
    use super::super::fixture::Bench;
    use super::*;
    use crate::flow::ReliefCut;
    use crate::units::Length;

    /// Limits of decal film: squeeze 0.7 % as it is, 4 % softened. Common practice, no source.
    #[test]
    fn film_lies_flat_softened_or_not_at_all() {
        let squeezed = |share: f64| {
            let mut bench = Bench::stripe();
            bench.fit.strain.squeeze_p99 = -share;
            let (lies, found) = rule(&bench.case());
            (lies, found.first().map(|finding| (finding.code, finding.severity)))
        };
        assert_eq!(squeezed(0.0069), (Lies::Flat, None));
        assert_eq!(squeezed(0.0071), (Lies::Softened, Some((Code::Wrinkle, Severity::Warning))));
        assert_eq!(squeezed(0.041), (Lies::No, Some((Code::Wrinkle, Severity::Error))));
    }

    #[test]
    fn cuts_that_bring_it_under_the_softened_limit_let_it_lie() {
        let with = |share: f64| {
            let mut bench = Bench::stripe();
            bench.fit.strain.squeeze_p99 = -0.073;
            let strain = Strain { squeeze_p99: -share, settled: true, ..Strain::default() };
            let cut = ReliefCut { number: 1, line: Vec::new(), lap: Length::mm(0.4), out: Vec::new() };
            bench.fit.relief = Some(Relief {
                kind: CutKind::Slit,
                cuts: vec![cut.clone(), ReliefCut { number: 2, ..cut }],
                strain,
            });
            let (lies, found) = rule(&bench.case());
            (lies, found[0].severity, found[0].help.clone())
        };
        let (lies, severity, help) = with(0.033);
        assert_eq!((lies, severity), (Lies::Cut, Severity::Warning));
        assert!(help.starts_with("slit it along the 2 lines") && help.contains("leaves 3.3 %"), "{help}");
        assert_eq!(with(0.041).0, Lies::No);
    }

    #[test]
    fn an_unsettled_strain_is_said() {
        let mut bench = Bench::stripe();
        bench.fit.strain.settled = false;
        bench.fit.strain.estimate = 0.004;
        assert_eq!(rule(&bench.case()).1[0].text, "the strains are only known to 0.4 %");
    }
}
