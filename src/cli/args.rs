//! Commands and options as they are typed.

use crate::batch::{self, Access, Choice, Failure};
use crate::flow::Limits;
use crate::spec;
use crate::units::{Dpi, Full, Length, Scale};
use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};
use std::collections::BTreeSet;
use std::num::NonZeroUsize;
use std::path::PathBuf;

/// Sizes decals, masks and stripes for curved model parts.
#[derive(Debug, Parser)]
#[command(version, about, max_term_width = 100)]
pub struct Args {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Fit, check and lay out specs, and write sheets and reports
    Make {
        #[command(flatten)]
        wanted: Wanted,
        /// Folder that gets one folder per spec
        #[arg(long, default_value = "out")]
        out: PathBuf,
        /// Dots per inch of the PNG sheets, instead of the spec's own
        #[arg(long, value_parser = dpi)]
        dpi: Option<Dots>,
        /// End with exit code 1 when something of severity error was found
        #[arg(long)]
        strict: bool,
        /// Make everything again, changed or not
        #[arg(long)]
        force: bool,
        /// Also write every part with its films as a body to turn: GLB (glTF 2.0), metres at model size
        #[arg(long)]
        glb: bool,
        /// Stay, and make again whatever is saved; Ctrl-C ends it
        #[arg(long)]
        watch: bool,
        /// How to report
        #[arg(long, value_enum, default_value = "table")]
        format: MakeFormat,
    },
    /// Fit and report without writing a file; exit code 1 when something of severity error was found
    Check {
        #[command(flatten)]
        wanted: Wanted,
        /// How to report
        #[arg(long, value_enum, default_value = "table")]
        format: Format,
    },
    /// Say how long a full-size length is at some scales
    Size {
        /// A length with its unit: 18in, "1 ft 6 in", 460mm
        #[arg(value_parser = full_length, allow_hyphen_values = true)]
        length: Given,
        /// Scales, separated by commas
        #[arg(long, value_parser = scale, value_delimiter = ',', default_value = "1/144,1/72,1/48,1/35,1/32,1/24,1/16")]
        scale: Vec<Scale>,
    },
    /// Write a commented first spec to begin from
    Start {
        /// The file to write; one that exists is left alone
        #[arg(default_value = "first.yaml")]
        file: PathBuf,
    },
    /// Make the built-in demo: markings of the invented Harrow Tarn Air Rescue
    Demo {
        /// Folder that gets the demo's folder
        #[arg(long, default_value = "out")]
        out: PathBuf,
        /// Dots per inch of the PNG sheets
        #[arg(long, value_parser = dpi)]
        dpi: Option<Dots>,
    },
    /// Write a page to print and measure: its readings go into `printer`
    Calibrate {
        /// A spec whose page, dots per inch and colours to take
        spec: Option<String>,
        /// The paper, where no spec is named
        #[arg(long, value_enum, ignore_case = true, default_value = "a4", conflicts_with = "spec")]
        page: Paper,
        /// Folder that gets the folder `calibration`
        #[arg(long, default_value = "out")]
        out: PathBuf,
        /// Dots per inch of the PNG
        #[arg(long, value_parser = dpi)]
        dpi: Option<Dots>,
        #[command(flatten)]
        reading: Reading,
    },
    /// Write a completion script for a shell to standard output
    Completions { shell: clap_complete::Shell },
    /// Write a man page to standard output
    Man,
    /// Write the JSON Schema of the language to standard output, for editors
    Schema {
        /// That of a file that specs share by `use`, instead of a spec's
        #[arg(long)]
        shared: bool,
    },
    /// Say what a finding means and what to do about it
    Explain {
        /// A word from the report, such as `oversize`; without one, all of them are listed
        code: Option<String>,
    },
}

/// Which specs, and what of them.
#[derive(Debug, ClapArgs)]
pub struct Wanted {
    /// Spec files, folders of them or patterns; `-` is standard input
    #[arg(required = true)]
    pub specs: Vec<String>,
    /// Scales instead of the spec's own, separated by commas
    #[arg(long, value_parser = scale, value_delimiter = ',')]
    pub scale: Vec<Scale>,
    /// Only these markings, separated by commas
    #[arg(long, value_delimiter = ',')]
    pub only: Vec<String>,
    /// How much is tried to save film, instead of the spec's own: 0 is plain rows, 1 is usual
    #[arg(long, value_parser = clap::value_parser!(u32).range(0..=1000))]
    pub effort: Option<u32>,
    /// How many threads work; as many as there are cores when left out
    #[arg(long, value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub jobs: Option<u16>,
    #[command(flatten)]
    pub reading: Reading,
}

/// What may be read.
#[derive(Debug, ClapArgs)]
pub struct Reading {
    /// One more folder that files named in a spec may lie in, besides the spec's own; may be repeated
    #[arg(long, value_name = "FOLDER")]
    pub allow_dir: Vec<PathBuf>,
    /// So many times the usual limits on bytes, copies, pieces and pixels, for a machine with the memory for it
    #[arg(long, value_name = "TIMES", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=i64::from(Limits::MOST_TIMES)))]
    pub limits: u32,
}

impl Reading {
    pub fn access(&self) -> Access {
        let limits = Limits::times(self.limits).unwrap_or_default();
        Access { folders: self.allow_dir.clone(), limits }
    }
}

impl Wanted {
    pub fn choice(&self) -> Choice {
        let limits = self.access().limits;
        Choice { scales: self.scale.clone(), only: self.only.clone(), effort: self.effort, limits }
    }

    pub fn access(&self) -> Access {
        self.reading.access()
    }

    /// The specs that the words name, or why one names none.
    pub fn found(&self) -> Vec<Result<String, Failure>> {
        let mut known = BTreeSet::new();
        let all = self.specs.iter().flat_map(|named| batch::find::specs(named));
        // A spec may be named by itself and by its folder.
        let is_new = |spec: &Result<String, Failure>| {
            let path = spec.as_ref().ok().and_then(|path| std::fs::canonicalize(path).ok());
            path.is_none_or(|path| known.insert(path))
        };
        all.filter(is_new).collect()
    }

    /// As many as there are cores, unless it was said.
    pub fn threads(&self) -> NonZeroUsize {
        let cores = || std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
        self.jobs.and_then(|jobs| NonZeroUsize::new(usize::from(jobs))).unwrap_or_else(cores)
    }
}

/// Paper that a square of 100 mm fits on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Paper {
    A3,
    A4,
    A5,
    Letter,
}

impl Paper {
    /// As a spec writes it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::A3 => "A3",
            Self::A4 => "A4",
            Self::A5 => "A5",
            Self::Letter => "letter",
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// A table for people
    Table,
    /// report.json on standard output; of several specs one array
    Json,
    /// report.json of each spec on a line of its own, as it is finished
    JsonLines,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum MakeFormat {
    /// A table for people
    Table,
    /// For scripts: what became of each spec on a line of its own, as it is finished
    JsonLines,
}

/// A length as typed, with its text.
#[derive(Clone, Debug)]
pub struct Given(pub Length<Full>);

/// Dots per inch as typed.
#[derive(Clone, Copy, Debug)]
pub struct Dots(pub Dpi);

fn full_length(text: &str) -> Result<Given, String> {
    let length = spec::length(text)?;
    if length.to_mm() > 0.0 { Ok(Given(length)) } else { Err("a length over 0 is wanted".to_owned()) }
}

fn scale(text: &str) -> Result<Scale, String> {
    spec::scale(text)
}

fn dpi(text: &str) -> Result<Dots, String> {
    let number: f64 = text.parse().map_err(|_| "a number is wanted, such as 600".to_owned())?;
    Dpi::new(number).map(Dots).ok_or_else(|| "from 30 to 2400 dots per inch can be printed".to_owned())
}
