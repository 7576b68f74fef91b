//! What each finding means, with a spec that has it and the change that cures it.
//!
//! The examples are whole but for [`HEAD`]; a test runs each, and runs it again as cured. Left out: the
//! numbers of a finding, which the report says.

use super::Code;

/// What every example begins with.
pub const HEAD: &str =
    "markloft: 1\ntitle: an example\nscales: [1/48]\ncolours: {red: \"#c8321e\", bone: \"#efe9dc\"}\n";

/// Cause, cure, and both shown.
#[derive(Clone, Copy, Debug)]
pub struct Explained {
    pub severity: &'static str,
    pub cause: &'static str,
    pub cure: &'static str,
    /// The rest of a spec that has it.
    pub example: &'static str,
    /// What is written in the example, and what to write instead.
    pub old: &'static str,
    pub new: &'static str,
    /// Files that the example names, and what is in them.
    pub files: &'static [(&'static str, &'static str)],
}

impl Explained {
    /// The example as a whole spec.
    pub fn spec(&self) -> String {
        format!("{HEAD}{}", self.example)
    }

    /// The same, cured.
    pub fn cured(&self) -> String {
        self.spec().replacen(self.old, self.new, 1)
    }
}

impl Code {
    /// What it means and what to do about it.
    pub const fn explained(self) -> Explained {
        match self {
            Self::Oversize => Explained {
                severity: "error",
                cause: "The piece runs past a limit of its part where it must not be trimmed.",
                cure: "Print it at the factor the report names, shorten it, hold it elsewhere, or allow trimming with `may_trim`.",
                example: "parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  badge: {part: door, draw: {disc: {diameter: 1200 mm}}, colour: red, make: decal}
",
                old: "1200 mm",
                new: "900 mm",
                files: &[],
            },
            Self::Trim => Explained {
                severity: "warning",
                cause: "The piece runs past a limit at an end that may be trimmed.",
                cure: "Trim along the line marked on the piece before it is wet, or make it as long as the report names.",
                example: "parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  stripe: {part: door, draw: {stripe: {width: 5 cm, length: 1200 mm}}, colour: red, make: decal}
",
                old: "1200 mm",
                new: "900 mm",
                files: &[],
            },
            Self::Wrinkle => Explained {
                severity: "warning or error",
                cause: "The film must be squeezed to lie on the part: a warning where setting fluid or warmth will do, or where relief cuts were found with which it does, which are drawn and numbered on the sheet (slits whose lips lap for decals; for masks darts to be cut out, or slits where a dart would be finer than a knife cuts); an error where nothing helps.",
                cure: "Soften or cut it as the report says, make the piece smaller, split it, or paint it.",
                example: "parts:
  dome: {shape: {sphere: {diameter: 30 cm}}}
markings:
  cap: {part: dome, draw: {disc: {diameter: 150 mm}}, colour: red, make: decal}
",
                old: "150 mm",
                new: "50 mm",
                files: &[],
            },
            Self::Stretch => Explained {
                severity: "warning or error",
                cause: "The film must be stretched to lie on the part: a warning where setting fluid or warmth will do, an error where it will not.",
                cure: "Soften it, make the piece smaller, split it, or paint it. If your film gives more, say so under `films`.",
                example: "films: {decal: {stretch: 0.3 %}}
parts:
  dome: {shape: {sphere: {diameter: 30 cm}}}
markings:
  cap: {part: dome, draw: {disc: {diameter: 150 mm}}, colour: red, make: decal}
",
                old: "150 mm",
                new: "50 mm",
                files: &[],
            },
            Self::FineLine => Explained {
                severity: "warning",
                cause: "A line is thinner than can be printed or cut.",
                cure: "Widen it, leave it out at this scale, or state what your printer or knife can do under `films`.",
                example: "parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  line: {part: door, draw: {stripe: {width: 3 mm, length: 50 cm}}, colour: red, make: decal}
",
                old: "width: 3 mm",
                new: "width: 6 mm",
                files: &[],
            },
            Self::FineGap => Explained {
                severity: "warning",
                cause: "A gap is narrower than can be printed or cut.",
                cure: "Widen it, leave it out at this scale, or state what your printer or knife can do under `films`.",
                example: "parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  lines:
    part: door
    draw:
      group: [{draw: {rectangle: {width: 40 mm, height: 20 cm}}, repeat: {line: {count: 2, along: 43 mm}}}]
    colour: red
    make: decal
",
                old: "along: 43 mm",
                new: "along: 50 mm",
                files: &[],
            },
            Self::SmallLetter => Explained {
                severity: "warning",
                cause: "Letters are lower than can be read, or cut.",
                cure: "Make them higher, leave them out at this scale, or state what your printer or knife can do with `smallest_letter` under `films`.",
                example: r#"parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  note: {part: door, draw: {letters: {text: "NO STEP", height: 20 mm}}, colour: red, make: decal}
"#,
                old: "height: 20 mm",
                new: "height: 60 mm",
                files: &[],
            },
            Self::Island => Explained {
                severity: "error",
                cause: "A bit of the mask comes loose when its openings are cut.",
                cure: "Tie it with `piece: {bridge: 0.6 mm}`, make it as a decal, or lift the loose bits over with tape.",
                example: r#"parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  number: {part: door, draw: {letters: {text: "08", height: 50 cm}}, colour: red, make: mask}
"#,
                old: "make: mask",
                new: "make: mask, piece: {bridge: 0.6 mm}",
                files: &[],
            },
            Self::Seam => Explained {
                severity: "warning",
                cause: "A run that goes round the part laps over itself or leaves a gap.",
                cure: "Change its length, draw it as a band, which is cut to the part, or ask for the lap with `piece: {overlap: …}`.",
                example: "parts:
  boom: {shape: {cylinder: {diameter: 50 cm, length: 3 m}}}
markings:
  ring:
    part: boom
    draw: {stripe: {width: 5 cm, length: 1500 mm}}
    lay: {follow: {ring: {station: 1 m}}}
    colour: red
    make: decal
",
                old: "stripe: {width: 5 cm, length: 1500 mm}",
                new: "band: {width: 5 cm}",
                files: &[],
            },
            Self::Overlap => Explained {
                severity: "warning",
                cause: "The flat piece lies over itself, for its line turns too far or crosses itself, so it cannot be cut from one sheet in one piece.",
                cure: "Make two markings of it, or lead the line otherwise.",
                example: "parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  loop:
    part: door
    draw: {stripe: {width: 5 cm, length: 2 m}}
    lay: {follow: {line: {seen: left, points: [[-40 cm, 0 m], [40 cm, 0 m], [0 m, 40 cm], [0 m, -40 cm]], radius: 5 cm}}}
    colour: red
    make: decal
",
                old: "[0 m, 40 cm], [0 m, -40 cm]",
                new: "[0 m, 40 cm], [-40 cm, 40 cm]",
                files: &[],
            },
            Self::ShortLine => Explained {
                severity: "warning",
                cause: "The piece is longer than the line it was led along, and runs straight on past the line's end.",
                cure: "Make it as long as the report names, or lead the line on.",
                example: "parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  stripe:
    part: door
    draw: {stripe: {width: 5 cm, length: 900 mm}}
    lay: {follow: {line: {seen: left, points: [[-30 cm, 0 m], [0 m, 10 cm], [30 cm, 0 m]], radius: 10 cm}}}
    colour: red
    make: decal
",
                old: "length: 900 mm",
                new: "length: 600 mm",
                files: &[],
            },
            Self::Clash => Explained {
                severity: "warning",
                cause: "Two markings of a part meet, and none was asked to lie over the other.",
                cure: "Move one of them, or write `over: OTHER` with the one that is put down later.",
                example: "parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  badge: {part: door, draw: {disc: {diameter: 50 cm}}, colour: red, make: decal}
  stripe: {part: door, draw: {stripe: {width: 5 cm, length: 80 cm}}, colour: bone, make: decal}
",
                old: "colour: bone, make: decal",
                new: "colour: bone, make: decal, over: badge",
                files: &[],
            },
            Self::Count => Explained {
                severity: "warning",
                cause: "Checks or stripes do not come out whole round the part, or the stripes of a helix do not fill the way from turn to turn.",
                cure: "Take the nearest width that does, which the report names.",
                example: "parts:
  boom: {shape: {cylinder: {diameter: 50 cm, length: 3 m}}}
markings:
  checks:
    part: boom
    draw: {checks: {square: 110 mm, rows: 2}}
    lay: {follow: {ring: {station: 1 m}}}
    colours: [red, bone]
    make: decal
",
                old: "110 mm",
                new: "112.2 mm",
                files: &[],
            },
            Self::OffScale => Explained {
                severity: "warning",
                cause: "Calipers found the kit part more than 3 % off its scale.",
                cure: "Measure again; `size_by: part` sizes a marking with the part, `size_by: scale`, the default, keeps it to the scale.",
                example: "parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}, measured: {1/48: {width: 19.5 mm, height: 19.5 mm}}}
markings:
  badge: {part: door, draw: {disc: {diameter: 50 cm}}, colour: red, make: decal}
",
                old: "19.5 mm, height: 19.5 mm",
                new: "20.9 mm, height: 20.8 mm",
                files: &[],
            },
            Self::Mended => Explained {
                severity: "note",
                cause: "The mesh of a part was not quite a skin: triangles without area or there twice were left out, some were turned over, or edges join more than two.",
                cure: "Look at the part's picture in the report; where it is as it should be, nothing need be done. Else mend the mesh where it was made, and export it again.",
                example: "parts:
  door: {shape: {mesh: {file: scanned.obj, unit: mm, size: full}}}
markings:
  badge:
    part: door
    draw: {disc: {diameter: 50 cm}}
    at: {seen: top}
    colour: red
    make: decal
",
                old: "scanned.obj",
                new: "mended.obj",
                files: &[
                    ("scanned.obj", "v 0 0 0\nv 1000 0 0\nv 1000 1000 0\nv 0 1000 0\nf 1 2 3\nf 1 3 4\nf 3 4 1\n"),
                    ("mended.obj", "v 0 0 0\nv 1000 0 0\nv 1000 1000 0\nv 0 1000 0\nf 1 2 3\nf 1 3 4\n"),
                ],
            },
            Self::Hidden => Explained {
                severity: "warning",
                cause: "A share of the marking falls beside the part in the view it is drawn in, or on what turns away from that view, and is lost.",
                cure: "Move it, make it smaller, or draw it in the view that sees its place; `lay: drape` loses nothing.",
                example: "parts:
  boom: {shape: {cylinder: {diameter: 50 cm, length: 3 m}}}
markings:
  badge:
    part: boom
    draw: {disc: {diameter: 60 cm}}
    at: {seen: left, aft: 1 m}
    lay: sight
    colour: red
    make: decal
",
                old: "60 cm",
                new: "40 cm",
                files: &[],
            },
            Self::SheetFull => Explained {
                severity: "error",
                cause: "A piece is larger than the page, and cannot be made in sections that fit.",
                cure: "Use the page the report names under `sheets`, or split the marking.",
                example: "sheets: {page: A6}
parts:
  hangar: {shape: {flat: {width: 60 m, height: 60 m, face: left}}}
markings:
  badge: {part: hangar, draw: {disc: {diameter: 45 m}}, colour: red, make: decal}
",
                old: "page: A6",
                new: "page: A3",
                files: &[],
            },
            Self::Split => Explained {
                severity: "warning",
                cause: "A piece is larger than the page, or longer than `piece: {longest: …}` says is laid at once, so it is made in sections a, b, c, which lap over each other by `split_overlap`, 0.5 mm unless told otherwise.",
                cure: "Lay them in that order, or use a larger page under `sheets`, or raise `longest`.",
                example: "sheets: {page: A4}
parts:
  hull: {shape: {flat: {width: 20 m, height: 3 m, face: left}}}
markings:
  line: {part: hull, draw: {stripe: {width: 20 cm, length: 19 m}}, colour: red, make: decal}
",
                old: "page: A4",
                new: "page: A3",
                files: &[],
            },
            Self::Sliver => Explained {
                severity: "note",
                cause: "Where colours were separated, bits too thin to see were left over; each was given to the colour beside it.",
                cure: "Nothing needs to be done; draw the edges further apart, or on one line.",
                example: "parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  bars:
    part: door
    draw:
      group:
        - draw: {rectangle: {width: 40 cm, height: 50 mm}}
          repeat: {line: {count: 2, across: 20 cm}}
          colour: red
        - {draw: {rectangle: {width: 40 cm, height: 50 mm}}, across: 10.05 cm, colour: bone}
    make: decal
",
                old: "across: 10.05 cm",
                new: "across: 10 cm",
                files: &[],
            },
            Self::NoWhite => Explained {
                severity: "warning",
                cause: "White ends inside the colour's edge by the choke, so lines under twice the choke get none and the part shows through.",
                cure: "Give `white` a smaller `choke`, or make the fine lines wider.",
                example: "printer: {white: {choke: 0.1 mm}}
parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  line: {part: door, draw: {stripe: {width: 8 mm, length: 50 cm}}, colour: red, make: decal}
",
                old: "choke: 0.1 mm",
                new: "choke: 0.05 mm",
                files: &[],
            },
            Self::Rows => Explained {
                severity: "note",
                cause: "There are too many pieces of one kind to fit them into each other's bays, so they lie in plain rows, which take somewhat more film.",
                cure: "Make fewer copies in one spec, let each scale have sheets of its own where `gang` has them share, or let pieces with many corners turn in fewer ways than `turn: free`.",
                example: "parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  dot-1: &dot {part: door, draw: {disc: {diameter: 5 cm}}, colour: red, make: decal, copies: 1000}
  dot-2: *dot
  dot-3: *dot
  dot-4: *dot
",
                old: "copies: 1000",
                new: "copies: 30",
                files: &[],
            },
            Self::UsedFilm => Explained {
                severity: "warning or note",
                cause: "The head, a check bar or a register cross of a partly used sheet falls on film that is gone, so it is not there to be read, measured or found. As a note: pieces lie in plain rows, which leave such a sheet alone.",
                cure: "Measure the bars of another sheet of the same run, or print a trial sheet on paper (`printer: {trial: true}`) and measure those; or use a sheet whose edges are whole. `effort: 1` or more under `sheets` lets pieces be fitted onto a partly used sheet.",
                example: "films: {decal: {used: [[0 mm, 0 mm], [210 mm, 0 mm], [210 mm, 100 mm], [0 mm, 100 mm]]}}
parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  badge: {part: door, draw: {disc: {diameter: 50 cm}}, colour: red, make: decal}
",
                old: "[[0 mm, 0 mm], [210 mm, 0 mm], [210 mm, 100 mm], [0 mm, 100 mm]]",
                new: "[[80 mm, 80 mm], [190 mm, 80 mm], [190 mm, 180 mm], [80 mm, 180 mm]]",
                files: &[],
            },
            Self::Unlaid => Explained {
                severity: "error",
                cause: "The marking cannot be put down where the spec says. The report says why and where the part is.",
                cure: "Move it to where the part is, make it smaller, or split it.",
                example: "parts:
  dome: {shape: {sphere: {diameter: 30 cm}}}
markings:
  cap: {part: dome, draw: {disc: {diameter: 900 mm}}, colour: red, make: decal}
",
                old: "900 mm",
                new: "90 mm",
                files: &[],
            },
            Self::Unsettled => Explained {
                severity: "warning",
                cause: "A finer mesh would still change the strains by more than was asked: treat them as an estimate.",
                cure: "Make the piece smaller, split it, or round off its sharp corners.",
                example: "parts:
  nose: {shape: {revolve: {profile: [[0 m, 0 m], [30 cm, 10 cm], [60 cm, 11 cm]]}}}
markings:
  flash:
    part: nose
    draw: {rectangle: {width: 20 cm, height: 10 cm}}
    at: {station: 25 cm, around: 45 deg}
    colour: red
    make: decal
",
                old: "width: 20 cm",
                new: "width: 10 cm",
                files: &[],
            },
            Self::NoTape => Explained {
                severity: "warning",
                cause: "No tape in stock has the width of the stripe. The report names the nearest widths and how far each is off.",
                cure: "Lay the nearest, change the stripe, stock another width under `films: {tape: {widths: […]}}`, or make it as a decal or mask.",
                example: "films: {tape: {widths: [1 mm, 2 mm]}}
parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  stripe: {part: door, draw: {stripe: {width: 62 mm, length: 80 cm}}, colour: red, make: tape}
",
                old: "width: 62 mm",
                new: "width: 96 mm",
                files: &[],
            },
            Self::Knife => Explained {
                severity: "error",
                cause: "A line has no room for the blade to turn in, or a sheet has no waste film to turn it in before the first cut.",
                cure: "Use a blade of smaller offset, cut that piece by hand, or leave more spacing between pieces.",
                example: "cutter: {offset: 0.5 mm}
parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  dots: {part: door, draw: {disc: {diameter: 40 mm}}, colour: red, make: mask}
",
                old: "offset: 0.5 mm",
                new: "offset: 0.25 mm",
                files: &[],
            },
            Self::Mat => Explained {
                severity: "error",
                cause: "A piece is larger than the cutter can reach, or lies past that.",
                cure: "Use a page no larger than the mat, a larger mat, or make the marking in shorter sections.",
                example: "cutter: {mat: {width: 150 mm, height: 200 mm}}
sheets: {page: A4}
parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  badge: {part: door, draw: {disc: {diameter: 50 cm}}, colour: red, make: mask}
",
                old: "page: A4",
                new: "page: A6",
                files: &[],
            },
            Self::Make => Explained {
                severity: "note",
                cause: "The spec leaves open what the marking is made as, and this is what was chosen and why: tape for plain stripes of a stocked width, a mask where no decal film lies down or one colour goes over a large area, else a decal.",
                cure: "`make: decal`, `mask` or `tape` decides otherwise.",
                example: "parts:
  door: {shape: {flat: {width: 1 m, height: 1 m, face: left}}}
markings:
  badge: {part: door, draw: {disc: {diameter: 50 cm}}, colour: red}
",
                old: "colour: red",
                new: "colour: red, make: decal",
                files: &[],
            },
        }
    }
}
