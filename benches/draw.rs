//! Lettering in bulk: 5 000 block letters drawn, separated, bridged and offset.

use divan::Bencher;
use markloft::draw::draw;
use markloft::flow::{Align, Block, ColourId, Corner, Draw, Face, Lettering, Setting};
use markloft::outline::Region;
use markloft::outline::bridge::{Bridges, bridged};
use markloft::units::{Angle, Full, Length, Model, Scale};
use rayon::prelude::*;

/// 40 letters, islands in half of them.
const LINE: &str = "ABDOPQR0468BDOPQR469ABCDEFGHIJKLMNSTUVWX";
const LINES: usize = 125;

fn main() {
    divan::main();
}

fn lettering() -> Draw {
    let mm = Length::<Full>::mm;
    Draw::Letters(Lettering {
        lines: vec![LINE.to_owned()],
        height: mm(300.0),
        face: Face::Block(Block {
            width: mm(200.0),
            widths: std::collections::BTreeMap::new(),
            stroke: mm(50.0),
            gap: mm(50.0),
            word_gap: mm(150.0),
            corner: Corner::Round(mm(100.0)),
        }),
        setting: Setting { align: Align::Left, line_gap: mm(200.0), bow: None },
        colour: ColourId(0),
    })
}

/// What the letters alone cost.
#[divan::bench(sample_count = 10)]
fn drawn(bencher: Bencher<'_, '_>) {
    bencher.bench(|| (0..LINES).map(|_| draw(&lettering()).areas[0].outline.contours.len()).sum::<usize>());
}

/// Letters as windows of a mask, their counters tied.
#[divan::bench(sample_count = 10)]
fn tied(bencher: Bencher<'_, '_>) {
    let scale = Scale::one_to(48.0).expect("1/48 is a scale");
    let bridges = Bridges { width: Length::mm(0.4), count: 2, direction: Angle::degrees(90.0) };
    let window: Region<Model> = draw(&lettering()).at(scale).areas[0].outline.flattened(0.002);
    bencher.bench(|| {
        (0..LINES).map(|_| bridged(&window, &bridges, &|_| Angle::ZERO).rings.len()).sum::<usize>()
    });
}

/// Under a second is asked for; lines are shared out over the threads, as the program shares out markings.
#[divan::bench(sample_count = 10)]
fn five_thousand_letters(bencher: Bencher<'_, '_>) {
    let scale = Scale::one_to(48.0).expect("1/48 is a scale");
    let bridges = Bridges { width: Length::mm(0.4), count: 2, direction: Angle::degrees(90.0) };
    bencher.bench(|| {
        let film = |_| -> usize {
            let drawn = draw(&lettering()).at(scale);
            let window: Region<Model> = drawn.areas[0].outline.flattened(0.002);
            let open = bridged(&window, &bridges, &|_| Angle::ZERO);
            open.parts().len() + open.offset(0.1).rings.len()
        };
        (0..LINES).into_par_iter().map(film).sum::<usize>()
    });
}
