//! What is not about any one marking: name, colours, films, sheets.

use super::super::lenient::{Got, May, Need};
use super::super::log::{At, Log};
use super::super::mirror::{self, Named, WordOrMap};
use super::super::words::{Number, Page, Rgb, Share, Text};
use super::{all_named, mm, not_negative, positive, tools};
use crate::flow::{Colour, ColourId, Film, Films, Margins, Sheets};
use crate::outline::number::short;
use crate::outline::region::signed_area;
use crate::outline::{Point, Polyline, point};
use crate::units::{Length, Model, Size};
use std::collections::BTreeMap;

/// The stem of a file name, fit to name a folder on any system.
pub fn plan_name(file_name: &str) -> String {
    /// Leaves room below the 255 bytes that file systems allow.
    const LONGEST: usize = 80;
    /// Names that Windows keeps for devices.
    const DEVICES: [&str; 6] = ["con", "prn", "aux", "nul", "com", "lpt"];
    let file = file_name.rsplit(['/', '\\']).next().unwrap_or(file_name);
    let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
    let safe = |c: char| if c.is_alphanumeric() || matches!(c, '-' | '_') { c } else { '-' };
    let name: String = stem.chars().take(LONGEST).map(safe).collect();
    let name = name.trim_matches('-');
    let is_device = |device: &str| {
        let rest = name.get(..3).filter(|start| start.eq_ignore_ascii_case(device)).map(|_| &name[3..]);
        rest.is_some_and(|rest| rest.is_empty() || (rest.len() == 1 && rest.as_bytes()[0].is_ascii_digit()))
    };
    match name {
        "" => "spec".into(),
        name if DEVICES.iter().any(|device| is_device(device)) => format!("{name}-spec"),
        name => name.into(),
    }
}

/// A colour as it is written: its digits, or those and what to buy for it.
type Coloured = WordOrMap<Rgb, mirror::Paint>;

/// Every colour, named or given by its digits.
pub struct Palette {
    pub colours: Vec<Colour>,
    names: BTreeMap<String, ColourId>,
}

impl Palette {
    pub fn new<'a>(log: &Log, files: impl Iterator<Item = &'a May<Named<Coloured>>>) -> Self {
        let mut palette = Self { colours: Vec::new(), names: BTreeMap::new() };
        for (name, given) in all_named(log, files) {
            let (rgb, mixed) = match given.get() {
                Some(WordOrMap::Word(rgb)) => (Some(rgb), None),
                Some(WordOrMap::Map(mixed)) => (mixed.hex.get(), Some(mixed)),
                None => (None, None),
            };
            // A colour that cannot be read keeps its name, so that its users are not blamed as well.
            let ColourId(id) = palette.add(name.into(), rgb.map_or([0; 3], |rgb| rgb.0));
            let words = |text: &May<Text>| text.get().map(|text| text.0.clone());
            palette.colours[id].paint = mixed.and_then(|mixed| words(&mixed.paint));
            palette.colours[id].note = mixed.and_then(|mixed| words(&mixed.note));
        }
        palette
    }

    /// By name or `#rrggbb`.
    pub fn find(&mut self, log: &Log, word: &str, at: At) -> Option<ColourId> {
        if let Some(&id) = self.names.get(word) {
            return Some(id);
        }
        if let Some(rgb) = Rgb::hex(word) {
            let name = Colour::bare(rgb.0).hex();
            return Some(self.names.get(&name).copied().unwrap_or_else(|| self.add(name, rgb.0)));
        }
        let names = self.names.keys().map(String::as_str).filter(|name| !name.starts_with('#'));
        log.unknown(at, "no colour is called", word, names);
        None
    }

    /// By its parts: the first colour of the spec that has the same, else by its digits.
    pub fn paint(&mut self, rgb: [u8; 3]) -> ColourId {
        let same = self.colours.iter().position(|colour| colour.rgb == rgb).map(ColourId);
        same.unwrap_or_else(|| self.add(Colour::bare(rgb).hex(), rgb))
    }

    fn add(&mut self, name: String, rgb: [u8; 3]) -> ColourId {
        let id = ColourId(self.colours.len());
        self.names.insert(name.clone(), id);
        self.colours.push(Colour { name, rgb, paint: None, note: None });
        id
    }
}

/// The films of all files over the default ones.
pub fn films<'a>(log: &Log, files: impl Iterator<Item = &'a May<mirror::Films>>) -> Films {
    let mut films = Films::default();
    let (mut decal, mut mask, mut tape) = (None, None, None);
    for file in files.filter_map(May::get) {
        film(log, &mut films.decal, &file.decal, &mut decal);
        film(log, &mut films.mask, &file.mask, &mut mask);
        tools::tape(log, &mut films.tape, &file.tape, &mut tape);
    }
    films
}

fn film(log: &Log, film: &mut Film, got: &May<mirror::Film>, first: &mut Option<At>) {
    let Some(given) = got.get() else { return };
    defined_once(log, got.at, first);
    set(&mut film.poisson, poisson(log, &given.poisson));
    set(&mut film.plain.stretch, give(log, &given.stretch));
    set(&mut film.plain.squeeze, give(log, &given.squeeze));
    if let Some(softened) = given.softened.get() {
        set(&mut film.softened.stretch, give(log, &softened.stretch));
        set(&mut film.softened.squeeze, give(log, &softened.squeeze));
        softened_gives_more(log, film, softened, got.at);
    } else {
        film.softened.stretch = film.softened.stretch.max(film.plain.stretch);
        film.softened.squeeze = film.softened.squeeze.max(film.plain.squeeze);
    }
    set(&mut film.finest_line, width_of_film(log, &given.finest_line));
    set(&mut film.finest_gap, width_of_film(log, &given.finest_gap));
    set(&mut film.smallest_letter, width_of_film(log, &given.smallest_letter));
    set(&mut film.border, width_of_film(log, &given.border));
    set(&mut film.bleed, width_of_film(log, &given.bleed));
    set(&mut film.used, used(log, &given.used));
    film.price = given.price.get().cloned();
    film.sheet = sold_in(log, &given.sheet).or(film.sheet);
}

/// Corners of what is gone of a sheet.
fn used(log: &Log, got: &May<Vec<Need<mirror::Found>>>) -> Option<Polyline> {
    /// As long as the longest page.
    const FURTHEST: f64 = 2000.0;
    /// More corners than anyone takes off a sheet with a rule.
    const MOST: usize = 1000;
    let given = got.get()?;
    let coordinate = |got: &Got<Length<Model>, true>| got.get().map(|length| length.to_mm());
    let corners: Polyline = given
        .iter()
        .filter_map(|corner| corner.get())
        .filter_map(|[x, y]| Some(point(coordinate(x)?, coordinate(y)?)))
        .collect();
    if corners.len() != given.len() {
        return None;
    }
    let help = "its corners as `[across, up]` from the sheet's lower left corner, three or more of them";
    let on_a_page = |p: &Point| p.x.abs() <= FURTHEST && p.y.abs() <= FURTHEST;
    if given.len() > MOST || !corners.iter().all(on_a_page) || signed_area(&corners).abs() < 1e-3 {
        log.value(got.at, "this is no outline of film used before", help);
        return None;
    }
    Some(corners)
}

pub fn defined_once(log: &Log, at: At, first: &mut Option<At>) {
    if let Some(first) = first.replace(at) {
        let message = format!("this film is defined twice: first at {}", log.key_place(first));
        log.key(at, message, "define it in one file");
    }
}

pub fn poisson(log: &Log, got: &May<Number>) -> Option<f64> {
    let poisson = got.get()?.0;
    // Past a half an elastic solid would gain volume when pulled.
    if (0.0..=0.5).contains(&poisson) {
        return Some(poisson);
    }
    log.value(got.at, "Poisson's ratio lies between 0 and 0.5", "0.4 suits most films");
    None
}

fn softened_gives_more(log: &Log, film: &Film, softened: &mirror::Softened, at: At) {
    let check = |got: &May<Share>, soft: f64, plain: f64| {
        if soft < plain {
            let place = if got.given { got.at } else { at };
            let message = format!("softened film gives {} %, less than as it is", short(soft * 100.0, 2));
            log.value(place, message, format!("give at least {} %", short(plain * 100.0, 2)));
        }
    };
    check(&softened.stretch, film.softened.stretch, film.plain.stretch);
    check(&softened.squeeze, film.softened.squeeze, film.plain.squeeze);
}

pub fn set<T>(slot: &mut T, value: Option<T>) {
    if let Some(value) = value {
        *slot = value;
    }
}

pub fn give(log: &Log, got: &May<Share>) -> Option<f64> {
    /// More than any film that is still a film.
    const MOST: f64 = 0.5;
    let share = got.get()?.0;
    if share > 0.0 && share <= MOST {
        return Some(share);
    }
    let help = format!("films give between 0 % and {} %; decal film about 1 %", MOST * 100.0);
    log.value(got.at, format!("a film does not give {} %", short(share * 100.0, 2)), help);
    None
}

/// A width of film beside the artwork, or of the finest line: from nothing to a hand's breadth.
pub fn width_of_film(log: &Log, got: &May<Length<Model>>) -> Option<Length<Model>> {
    const MOST: Length<Model> = Length::mm(100.0);
    let width = not_negative(log, got)?;
    if width <= MOST {
        return Some(width);
    }
    let message = format!("{} is more than a sheet has room for", mm(width));
    log.value(got.at, message, format!("at most {}: these are sizes of film, not full size", mm(MOST)));
    None
}

/// The page of all sheets; those of `films` that are sold otherwise lie as it does. The printer leaves `bare` free.
pub fn sheets(log: &Log, got: &May<mirror::Sheets>, bare: Margins, films: &mut Films) -> Option<Sheets> {
    let mut sheets = Sheets { bare, ..Sheets::default() };
    if let Some(given) = got.get() {
        as_given(log, got, given, &mut sheets, films);
    }
    // Room for the 50 mm check bar of every sheet.
    let least = Length::mm(60.0);
    let sold = [("decal", &films.decal), ("mask", &films.mask), ("tape", &films.tape.film)];
    let sold = sold.map(|(name, film)| film.sheet.map(|page| (page, format!(" of the {name} film's sheet"))));
    for (page, whose) in std::iter::once((sheets.page, String::new())).chain(sold.into_iter().flatten()) {
        let [left, right, top, bottom] = Sheets { page, ..sheets.clone() }.kept().map(Length::mm);
        let (across, up) = (page.width - left - right, page.height - top - bottom);
        let smaller = if across < up { across } else { up };
        if smaller < least {
            let given = got.get();
            let margin =
                given.map(|given| &given.margin).filter(|margin| margin.given).map(|margin| margin.at);
            let place = margin.or(given.map(|given| given.page.at)).unwrap_or(got.at);
            let message = format!("between the margins{whose} {} are left", mm(smaller));
            log.value(place, message, format!("leave at least {} for pieces and the check bar", mm(least)));
        }
    }
    Some(sheets)
}

fn as_given(
    log: &Log,
    got: &May<mirror::Sheets>,
    given: &mirror::Sheets,
    sheets: &mut Sheets,
    films: &mut Films,
) {
    if is_turned(got) {
        for film in [&mut films.decal, &mut films.mask, &mut films.tape.film] {
            let lies = |size: Size<Model>| Size { width: size.height, height: size.width };
            film.sheet = film.sheet.map(|size| if size.width < size.height { lies(size) } else { size });
        }
    }
    set(&mut sheets.page, page(log, given));
    sheets.turned = is_turned(got);
    if let Some(spacing) = width_of_film(log, &given.spacing) {
        sheets.spacing = spacing;
    }
    if let Some(margin) = width_of_film(log, &given.margin) {
        sheets.margin = margin;
    }
    set(&mut sheets.turns, given.turn.get().copied());
    set(&mut sheets.effort, given.effort.get().map(|effort| effort.0));
    set(&mut sheets.labels, given.labels.get().copied());
    set(&mut sheets.gang, given.gang.get().map(|gang| gang.0));
}

/// Whether a named page lies on its side.
pub fn is_turned(got: &May<mirror::Sheets>) -> bool {
    got.get().and_then(|given| given.landscape.get()).is_some_and(|landscape| landscape.0)
}

/// Longer than A0's long side; a picture of it at 600 dpi is 2 Gpx.
const LONGEST_SIDE: Length<Model> = Length::mm(2000.0);

/// Both sides of a page as it lies.
fn page_size(log: &Log, size: &mirror::PageSize) -> Option<Size<Model>> {
    let side = |got: &Got<Length<Model>, true>| {
        let side = positive(log, got)?;
        if side > LONGEST_SIDE {
            log.value(got.at, format!("{} is no page", mm(side)), format!("at most {}", mm(LONGEST_SIDE)));
        }
        Some(side)
    };
    let (width, height) = (side(&size.width), side(&size.height));
    Some(Size { width: width?, height: height? })
}

/// The sheet that a film is sold in: large enough for the check bars.
fn sold_in(log: &Log, got: &May<WordOrMap<Page, mirror::PageSize>>) -> Option<Size<Model>> {
    /// What a head, a foot and the usual margins leave a piece 20 mm of.
    const LEAST: Length<Model> = Length::mm(76.0);
    let size = match got.get()? {
        WordOrMap::Word(page) => Size { width: page.width, height: page.height },
        WordOrMap::Map(size) => page_size(log, size)?,
    };
    if size.width < LEAST || size.height < LEAST {
        let message = format!("a sheet of {} × {} has no room", mm(size.width), mm(size.height));
        log.value(got.at, message, format!("at least {} either way, with the margins", mm(LEAST)));
        return None;
    }
    Some(size)
}

fn page(log: &Log, given: &mirror::Sheets) -> Option<Size<Model>> {
    let landscape = given.landscape.get().is_some_and(|landscape| landscape.0);
    let page = match given.page.get() {
        None => Sheets::default().page,
        Some(WordOrMap::Word(page)) => Size { width: page.width, height: page.height },
        Some(WordOrMap::Map(size)) => {
            if landscape {
                let help = "give `width` and `height` as the page lies";
                log.key(given.landscape.at, "`landscape` turns a named page only", help);
            }
            return page_size(log, size);
        }
    };
    Some(if landscape { Size { width: page.height, height: page.width } } else { page })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plan_is_named_so_that_any_system_can_make_its_folder() {
        for (file, name) in [
            ("specs/harrow-tarn.yaml", "harrow-tarn"),
            ("C:\\specs\\tail boom.v2.yaml", "tail-boom-v2"),
            ("-", "spec"),
            ("..", "spec"),
            (".yaml", "spec"),
            ("con.yaml", "con-spec"),
            ("COM1.yaml", "COM1-spec"),
            ("cone.yaml", "cone"),
            ("über.yaml", "über"),
            ("a/../../b.yaml", "b"),
        ] {
            assert_eq!(plan_name(file), name, "{file}");
        }
        assert!(plan_name(&"x".repeat(500)).len() <= 80);
    }
}
