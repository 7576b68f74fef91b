//! Pieces larger than their sheet, made in sections: what is covered, where they are cut, what is said.

use markloft::batch::{self, Choice};
use markloft::flow::{Code, Piece, ScaleOutcome, Severity};
use markloft::outline::number::rounded;

/// Everything at full size of one marking on one part, on A4 unless `more` says otherwise.
fn made(shape: &str, marking: &str, more: &str) -> ScaleOutcome {
    let text = format!(
        "markloft: 1\ntitle: t\nscales: [full]\ncolours: {{a: \"#000000\", b: \"#ffffff\"}}\nparts:\n  p:\n    shape: {{{shape}}}\nmarkings:\n  m:\n    part: p\n    {marking}\n{more}"
    );
    let plan =
        batch::load_embedded("test.yaml", &text).unwrap_or_else(|problem| panic!("{problem:?}\n{text}"));
    batch::work_out(plan, &Choice::default()).unwrap().scales[0].clone()
}

const PLATE: &str = "flat: {width: 2 m, height: 2 m, face: left}";

fn area(piece: &Piece) -> f64 {
    piece.fit.artwork.silhouette.area()
}

/// Lengths along the heading, rounded to hundredths.
fn lengths(scale: &ScaleOutcome) -> Vec<f64> {
    scale.pieces.iter().map(|piece| rounded(piece.fit.size.width.to_mm(), 2)).collect()
}

#[test]
fn a_long_stripe_is_cut_across_into_sections_that_lap() {
    let stripe =
        "draw: {stripe: {width: 40 mm, length: 900 mm}}\n    colour: a\n    piece: {split_overlap: 2 mm}";
    let scale = made(PLATE, stripe, "");
    // The room on A4 is some 272 high: 900 goes into four.
    assert_eq!(lengths(&scale), [227.0, 227.0, 227.0, 225.0]);
    let letters: Vec<String> = scale.pieces.iter().map(|piece| piece.section.unwrap().letter()).collect();
    assert_eq!(letters, ["a", "b", "c", "d"]);
    assert_eq!(scale.pieces.iter().map(|piece| piece.number).collect::<Vec<_>>(), [1, 2, 3, 4]);
    let finding = &scale.pieces[0].findings[0];
    assert_eq!((finding.code, finding.severity), (Code::Split, Severity::Warning));
    assert!(finding.text.contains("made in 4 sections, a to d, that lap by 2 mm"), "{}", finding.text);
    let split = scale.all_findings().filter(|finding| finding.code == Code::Split).count();
    assert_eq!(split, 1, "said once");
    assert_eq!(scale.sheets.iter().map(|sheet| sheet.pieces.len()).sum::<usize>(), 4);
    // Twice over, copies have parts of their own.
    let twice = made(PLATE, &format!("{stripe}\n    copies: 2"), "");
    assert_eq!(twice.pieces.len(), 8);
    assert_eq!(twice.pieces[7].copy, 2);
    assert_eq!(twice.pieces[7].number, 8);
}

/// Why a piece is made as it is, is told once, however many copies there are and sections; copies of a section
/// lie side by side.
#[test]
fn copies_of_a_split_piece_are_told_once() {
    let stripe = "draw: {stripe: {width: 40 mm, length: 900 mm}}\n    colour: a\n    copies: 3\n    piece: {split_overlap: 2 mm}";
    let scale = made(PLATE, stripe, "");
    let told = scale.all_findings().filter(|finding| finding.code == Code::Make).count();
    assert_eq!((scale.pieces.len(), told), (12, 1));
    let letters: String = scale.pieces.iter().map(|piece| piece.section.unwrap().letter()).collect();
    assert_eq!(letters, "aaabbbcccddd");
}

/// 250 mm fit on the sheet, but not in one lay of 100 mm: three parts.
#[test]
fn a_piece_too_long_to_lay_at_once_is_made_in_sections() {
    let stripe = "draw: {stripe: {width: 40 mm, length: 250 mm}}\n    colour: a\n    piece: {longest: 100 mm, split_overlap: 1 mm}";
    let scale = made(PLATE, stripe, "");
    assert_eq!(lengths(&scale), [84.33, 84.33, 83.33]);
    let finding = &scale.pieces[0].findings[0];
    assert!(
        finding.text.contains("is more than the 100 mm that are laid at once: made in 3"),
        "{}",
        finding.text
    );
    assert!(finding.help.contains("raise `longest`"), "{}", finding.help);
    let whole = made(PLATE, &stripe.replace("100 mm", "250 mm"), "");
    assert_eq!((whole.pieces.len(), whole.pieces[0].section), (1, None));
}

#[test]
fn a_piece_that_fits_is_left_whole() {
    let scale = made(PLATE, "draw: {stripe: {width: 40 mm, length: 250 mm}}\n    colour: a", "");
    assert_eq!((scale.pieces.len(), scale.pieces[0].section), (1, None));
}

/// Eight squares of 78 in three parts: even cuts at 208 and 416 move to the nearest bars, 234 and 390.
#[test]
fn cuts_lie_where_colours_meet() {
    let checks = "draw: {checks: {square: 78 mm, rows: 1, columns: 8}}\n    colours: [a, b]";
    assert_eq!(lengths(&made(PLATE, checks, "")), [234.5, 156.5, 234.0]);
}

#[test]
fn a_disc_too_large_both_ways_is_cut_both_ways() {
    let disc = "draw: {disc: {diameter: 480 mm}}\n    colour: a\n    piece: {split_overlap: 1 mm}";
    let scale = made(PLATE, disc, "");
    let sum: f64 = scale.pieces.iter().map(area).sum();
    let whole = std::f64::consts::PI * 240.0 * 240.0;
    // What is covered twice: strips of 1 mm along lines across the disc, none longer than it is wide.
    assert!(scale.pieces.len() >= 4 && sum > whole && sum < whole + 3.0 * 480.0, "{sum} {whole}");
    assert!(scale.sheets.iter().all(|sheet| !sheet.pieces.is_empty()));
    assert!(scale.all_findings().all(|finding| finding.code != Code::SheetFull));
}

/// A ring round a cone, laid flat, is an arc: cut square to its own line.
#[test]
fn a_bent_band_is_cut_square_to_its_line() {
    let band = "draw: {band: {width: 60 mm}}\n    colour: a\n    lay: {follow: {ring: {station: 150 mm}}}";
    let scale = made("cone: {front: 300 mm, rear: 420 mm, length: 300 mm}", band, "");
    let count = scale.pieces.len() as f64;
    assert!(count >= 4.0);
    let sum: f64 = scale.pieces.iter().map(area).sum();
    // The middle of the ring is 360 across (geometry); parts lap by half a millimetre, common practice.
    let expected = 60.0 * (std::f64::consts::PI * 360.0 + 0.5 * (count - 1.0));
    assert!((sum / expected - 1.0).abs() < 1e-3, "{sum} {expected}");
    for piece in &scale.pieces {
        // Turned to its own heading, a part is as long as it is and hardly higher than the band.
        assert!(piece.fit.size.height.to_mm() < 90.0, "{:?}", piece.fit.size);
    }
}

#[test]
fn what_no_number_of_parts_brings_onto_a_sheet_is_refused() {
    let stripe = "draw: {stripe: {width: 1 m, length: 1.8 m}}\n    colour: a";
    let page = "sheets: {page: {width: 80 mm, height: 80 mm}}\n";
    let scale = made(PLATE, stripe, page);
    assert_eq!(scale.pieces.len(), 1);
    assert!(scale.all_findings().any(|finding| finding.code == Code::SheetFull));
}
