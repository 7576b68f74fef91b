//! The files of sheets: as they go to the printer, in every format, with their plates and trials.
//!
//! SVG and PDF are made at once, PNG while its file is written: a fine one is
//! larger than memory ought to be.

use super::Failure;
use super::manifest::{self, Manifest};
use super::paint::paint;
use super::publish::{Content, Output};
use crate::flow::{Ground, Kept, Limits, Make, Outcome, PdfFiles, Printer, Shades, Sheet};
use crate::sheet::print;
use crate::units::Dpi;
use crate::write::{self, Look, Picture, PngError};
use rayon::prelude::*;
use std::io;
use std::path::Path;

/// What pages are written for, and what an earlier run left.
#[derive(Clone, Copy)]
pub struct Pages<'a> {
    pub title: &'a str,
    pub printer: &'a Printer,
    pub dpi: Dpi,
    pub home: &'a Path,
    pub before: Option<&'a Manifest>,
    pub limits: Limits,
}

/// What, besides the drawing and the dots per inch, decides how pictures come out.
pub fn look(printer: &Printer) -> String {
    let white = printer.white.as_ref().map(|white| white.picture);
    format!("{:?} {:?} {white:?}", printer.ground, printer.masks)
}

impl<'a> Pages<'a> {
    /// The files of all sheets.
    pub fn outputs(&self, outcome: &Outcome) -> Result<Vec<Output<'a>>, Failure> {
        let all: Vec<Kept> = outcome.sheets().collect();
        let drawn: Result<Vec<_>, Failure> =
            all.par_iter().map(|kept| self.of_sheet(&kept.home.folder(), kept.sheet)).collect();
        let mut outputs: Vec<Output> = drawn?.into_iter().flatten().collect();
        if self.printer.pdf == PdfFiles::Together {
            for of_home in all.chunk_by(|a, b| a.home == b.home) {
                outputs.extend(self.together(of_home));
            }
        }
        Ok(outputs)
    }

    fn of_sheet(&self, folder: &str, sheet: &Sheet) -> Result<Vec<Output<'a>>, Failure> {
        let printer = self.printer;
        let printed = print::compensated(sheet, printer);
        let shades = if sheet.make == Make::Mask { printer.masks } else { Shades::Colour };
        let mut outputs = self.of_page(folder, &printed, Look { shades, ground: printer.ground })?;
        if let Some(trial) = self.trial(sheet) {
            outputs.extend(self.of_page(
                folder,
                &trial,
                Look { shades: Shades::Grey, ground: Ground::White },
            )?);
        }
        if let (Some(white), Some(plate)) = (&printer.white, print::white_plate(&printed)) {
            let name = format!("{folder}/{}.white.png", sheet.stem);
            let beside = format!("{folder}/{}.svg", sheet.stem);
            // Black on white is what every program takes for a plate; nothing in it is see-through.
            let look = Look { shades: white.picture, ground: Ground::White };
            let svg = write::svg(&plate, self.title);
            // The sheet's own drawing has the plate in it: the same drawing, the same plate.
            let same = outputs[0].name == beside && self.drawn_before(&outputs[0]);
            outputs.push(self.picture(name, svg, &plate, look, same)?);
        }
        Ok(outputs)
    }

    /// The outlines of a sheet, where they are asked for.
    fn trial(&self, sheet: &Sheet) -> Option<Sheet> {
        let wanted = self.printer.trial && sheet.make != Make::Tape;
        wanted.then(|| print::compensated(&print::trial(sheet), self.printer))
    }

    /// One page in every format, its SVG first.
    pub fn of_page(&self, folder: &str, page: &Sheet, look: Look) -> Result<Vec<Output<'a>>, Failure> {
        let below = if folder.is_empty() { String::new() } else { format!("{folder}/") };
        let name = |ending: &str| format!("{below}{}.{ending}", page.stem);
        let title = self.title;
        let svg = write::svg(page, title);
        let drawing = match look.shades {
            Shades::OneBit => write::svg(&print::black(page, self.dpi), title),
            _ => svg.clone(),
        };
        let mut outputs = vec![Output::fresh(name("svg"), svg)];
        let same = self.drawn_before(&outputs[0]);
        outputs.push(self.picture(name("png"), drawing, page, look, same)?);
        if self.printer.pdf == PdfFiles::Each {
            outputs.push(Output { name: name("pdf"), content: Content::Fresh(write::pdf(&[page], title)) });
        }
        Ok(outputs)
    }

    /// Whether an earlier run drew the same.
    fn drawn_before(&self, svg: &Output) -> bool {
        let Content::Fresh(bytes) = &svg.content else { return false };
        self.before.is_some_and(|before| before.files.get(&svg.name) == Some(&manifest::hash(bytes)))
    }

    /// A picture is drawn from an SVG alone: one that was drawn from the same is as good as new.
    fn picture(
        &self,
        name: String,
        svg: String,
        page: &Sheet,
        look: Look,
        same: bool,
    ) -> Result<Output<'a>, Failure> {
        if let Some(before) = self.before.filter(|before| same && before.holds(self.home, &name)) {
            let content = Content::Kept(before.files[&name].clone());
            return Ok(Output { name, content });
        }
        let (size, dpi) = (page.page, self.dpi);
        let refused = |error: PngError| Failure::File {
            path: name.clone(),
            what: error.to_string(),
            help: "fewer dots per inch may do: `--dpi 300`; `--limits 4` allows four times as many pixels",
        };
        write::png::pixels(size, dpi, self.limits).map_err(refused)?;
        let limits = self.limits;
        let drawn = move |out: &mut (dyn io::Write + Send)| {
            let picture = Picture::new(&svg, size, dpi, look, limits).map_err(io::Error::other)?;
            paint(&picture, out).map_err(|error| match error {
                PngError::Write(error) => error,
                other => io::Error::other(other),
            })
        };
        Ok(Output { name, content: Content::Streamed(Box::new(drawn)) })
    }

    /// One PDF of all sheets in a folder, and one of all their trials.
    fn together(&self, of_home: &[Kept]) -> Vec<Output<'a>> {
        let Some(folder) = of_home.first().map(|kept| kept.home.folder()) else { return Vec::new() };
        let printed = of_home.iter().map(|kept| print::compensated(kept.sheet, self.printer)).collect();
        let trials = of_home.iter().filter_map(|kept| self.trial(kept.sheet)).collect();
        let books: [(&str, Vec<Sheet>); 2] = [("sheets", printed), ("trials", trials)];
        let book = |(stem, pages): &(&str, Vec<Sheet>)| Output {
            name: format!("{folder}/{stem}.pdf"),
            content: Content::Fresh(write::pdf(&pages.iter().collect::<Vec<_>>(), self.title)),
        };
        books.iter().filter(|(_, pages)| !pages.is_empty()).map(book).collect()
    }
}
