//! What is wrong with a piece, and what to do about it: one file per rule.
//!
//! A rule looks at one fitted piece at the model and says what it finds, with
//! numbers and a way out. It changes nothing and knows no other rule.

mod clash;
mod count;
mod covered;
mod fine;
mod hidden;
mod island;
mod letter;
mod mended;
mod off_scale;
mod overlap;
mod seam;
mod short_line;
mod size;
mod sliver;
mod strain;
mod white;

pub use clash::clashes;
pub use mended::mended;
pub use off_scale::off_scale;

use crate::flow::{Code, Film, Finding, Fit, Lies, Make, Marking, MaskFilm, Place, Severity, Verdict, White};
use crate::outline::number::said_mm;
use crate::units::{Model, Scale};

/// Differences on the model under this many mm are none: a fifth of the finest printed line. Common practice, no source.
pub const VISIBLE_MM: f64 = 0.02;

/// One piece, as the rules see it.
#[derive(Clone, Copy, Debug)]
pub struct Case<'a> {
    pub marking: &'a Marking,
    pub scale: Scale,
    /// The scale at which the full-size part would have the size the calipers found.
    pub effective: Scale,
    pub make: Make,
    pub film: &'a Film,
    pub fit: &'a Fit<Model>,
    /// What the masks of a marking are.
    pub spray: MaskFilm,
    /// What the printer lays under colour.
    pub white: Option<&'a White>,
}

impl Case<'_> {
    /// The scale that the marking is drawn at.
    fn drawn_at(&self) -> Scale {
        self.marking.size_by.of(self.scale, self.effective)
    }

    /// A length on the model, mm, as the spec would have it: `630 mm at full size (13.1 mm on the model)`.
    fn in_both_worlds(&self, mm: f64) -> String {
        let full = mm * self.drawn_at().denominator();
        format!("{} at full size ({} on the model)", said_mm(full), said_mm(mm))
    }

    fn finding(&self, code: Code, severity: Severity, text: String, help: String) -> Finding {
        self.finding_at(&self.marking.at, code, severity, text, help)
    }

    fn finding_at(&self, at: &Place, code: Code, severity: Severity, text: String, help: String) -> Finding {
        Finding { code, severity, text, help, at: at.clone() }
    }
}

/// What the rules make of a piece.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement {
    pub verdict: Verdict,
    pub lies: Lies,
    /// In the order of the rules: size first.
    pub findings: Vec<Finding>,
}

/// Runs every rule on one piece.
pub fn judge(case: &Case<'_>) -> Judgement {
    let (verdict, mut findings) = size::rule(case);
    let (lies, strained) = strain::rule(case);
    findings.extend(strained);
    findings.extend(seam::rule(case));
    findings.extend(covered::rule(case));
    findings.extend(overlap::rule(case));
    findings.extend(short_line::rule(case));
    findings.extend(count::rule(case));
    findings.extend(hidden::rule(case));
    findings.extend(fine::rule(case));
    findings.extend(letter::rule(case));
    findings.extend(island::rule(case));
    findings.extend(sliver::rule(case));
    findings.extend(white::rule(case));
    Judgement { verdict, lies, findings }
}

#[cfg(test)]
pub(crate) mod fixture {
    //! A piece that nothing is wrong with, for rules to be tried on.
    use super::*;
    use crate::flow::*;
    use crate::outline::{Outline, point};
    use crate::units::{Angle, Length, Size};

    pub struct Bench {
        pub marking: Marking,
        pub part: Part,
        pub film: Film,
        pub fit: Fit<Model>,
        pub make: Make,
    }

    impl Bench {
        /// A 7.5 × 1 mm stripe on a plate, at 1/48.
        pub fn stripe() -> Self {
            let at = Place { file: "bench.yaml".into(), line: 3, column: 5 };
            let bar: Outline<Model> = Outline::rectangle(point(0.0, 0.0), 7.5, 1.0);
            let size = Size { width: Length::mm(7.5), height: Length::mm(1.0) };
            Self {
                marking: Marking {
                    name: "stripe".to_owned(),
                    part: PartId(0),
                    draw: Draw::Stripe {
                        width: Length::mm(48.0),
                        end_width: Length::mm(48.0),
                        length: Length::mm(360.0),
                        colours: vec![ColourId(0)],
                    },
                    spot: Spot::Seen {
                        view: View::Top,
                        across: Length::ZERO,
                        up: Length::ZERO,
                        turn: Angle::ZERO,
                    },
                    hold: Hold::Centre,
                    lay: Lay::Drape,
                    make: vec![Make::Decal],
                    copies: 1,
                    may_trim: vec![End::Front, End::Rear],
                    size_by: SizeBy::Scale,
                    over: Vec::new(),
                    layer: 0,
                    piece: PieceWishes::default(),
                    note: None,
                    at: at.clone(),
                    draw_at: at.clone(),
                    spot_at: at.clone(),
                },
                part: Part {
                    name: "plate".to_owned(),
                    shape: Shape::Flat {
                        width: Length::mm(1000.0),
                        height: Length::mm(500.0),
                        face: View::Top,
                    },
                    measured: Vec::new(),
                    limits: Vec::new(),
                    seam: Angle::ZERO,
                    at,
                },
                film: Films::default().decal,
                fit: Fit {
                    artwork: Artwork {
                        areas: vec![Area { colour: ColourId(0), outline: bar.clone() }],
                        silhouette: bar,
                        repeat: None,
                    },
                    size,
                    run: None,
                    spine: Vec::new(),
                    film: Film3::default(),
                    strain: Strain { settled: true, ..Strain::default() },
                    overhang: Length::ZERO,
                    overhang_share: 0.0,
                    overhanging: crate::outline::Region::empty(),
                    trim: Vec::new(),
                    past: Vec::new(),
                    trimmable: true,
                    largest_fit: 2.0,
                    largest_length: Some(Length::mm(15.0)),
                    seam: None,
                    repeats: None,
                    hidden_share: 0.0,
                    doubled_share: 0.0,
                    relief: None,
                    past_line: Length::ZERO,
                    miss: Length::ZERO,
                },
                make: Make::Decal,
            }
        }

        pub fn case(&self) -> Case<'_> {
            Case {
                marking: &self.marking,
                scale: Scale::one_to(48.0).unwrap(),
                effective: Scale::one_to(48.0).unwrap(),
                make: self.make,
                film: &self.film,
                fit: &self.fit,
                spray: MaskFilm::Window,
                white: None,
            }
        }
    }

    #[test]
    fn nothing_is_found_on_a_sound_piece() {
        let judgement = judge(&Bench::stripe().case());
        assert_eq!(judgement, Judgement { verdict: Verdict::Fits, lies: Lies::Flat, findings: Vec::new() });
    }
}
