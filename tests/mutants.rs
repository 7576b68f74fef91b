//! Thousands of spoiled specs and files: none may panic, hang, eat the memory, or be refused without a reason.
//!
//! Specs are spoiled word by word and letter by letter, and what can still be read is fitted and checked;
//! SVG, meshes and fonts are spoiled by bytes. A mutant is made from its number alone; one that
//! breaks something is kept in `target/mutants` and belongs into `fuzz/finds`.
//! `MARKLOFT_MUTANTS=50 cargo test --release --test mutants` runs 100 000 specs and 21 000 files.

#[path = "../fuzz/readers.rs"]
#[expect(dead_code, reason = "specs are fitted here too, by a way of their own")]
mod readers;

use markloft::batch::{self, Choice, Failure};
use markloft::flow::{Code, Severity};
use markloft::spec;
use std::fs;
use std::panic::catch_unwind;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{LazyLock, Mutex, OnceLock};
use std::time::{Duration, Instant};

/// No file of some kilobytes may take longer. Counted of the processor, for two at a time: on a machine that
/// others use too, the clock on the wall says nothing.
const SLOWEST: Duration = Duration::from_secs(2 * 10);
/// Peak memory of the whole run, KiB: every mutant stayed below.
const MOST_KIB: u64 = 1 << 20;

/// A fraction of what was run once, unless more is asked for.
fn times() -> u64 {
    std::env::var("MARKLOFT_MUTANTS").ok().and_then(|times| times.parse().ok()).unwrap_or(1)
}

/// SplitMix64 (Steele, Lea & Flood, OOPSLA 2014).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, count: usize) -> usize {
        (self.next() % count.max(1) as u64) as usize
    }

    fn of<'a, T>(&mut self, items: &'a [T]) -> &'a T {
        &items[self.below(items.len())]
    }
}

/// Small specs, one matter each: what `explain` shows.
fn seeds() -> Vec<String> {
    Code::ALL.iter().map(|code| code.explained().spec()).collect()
}

/// Spans of what is a word, a number or a mark.
fn tokens(text: &str) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize, u8)> = Vec::new();
    for (at, c) in text.char_indices() {
        let class = match c {
            '0'..='9' | '.' => 1,
            c if c.is_alphabetic() || c == '_' || c == '-' => 2,
            c if c.is_whitespace() => 3,
            _ => 0,
        };
        match found.last_mut() {
            Some((_, end, last)) if *last == class && class != 0 => *end = at + c.len_utf8(),
            _ => found.push((at, at + c.len_utf8(), class)),
        }
    }
    found.into_iter().filter(|&(_, _, class)| class != 3).map(|(from, to, _)| (from, to)).collect()
}

fn spoiled_spec(seeds: &[String], chance: &mut Chance) -> String {
    const NUMBERS: &[&str] = &[
        "0", "-1", "1", "2", "3", "0.001", "0.5", "7", "12", "1e9", "99999", "-0.0", ".nan", "1/48", "10000",
        "359.999", "1000000", "16777217",
    ];
    const WORDS: &[&str] = &[
        "mm",
        "m",
        "in",
        "ft",
        "deg",
        "%",
        "disc",
        "star",
        "band",
        "stripe",
        "checks",
        "hazard",
        "letters",
        "roundel",
        "cone",
        "sphere",
        "ellipsoid",
        "cylinder",
        "flat",
        "tube",
        "decal",
        "mask",
        "tape",
        "left",
        "top",
        "rear",
        "no",
        "drape",
        "sight",
        "ring",
        "run",
        "helix",
        "width",
        "length",
        "height",
        "diameter",
        "points",
        "turn",
        "offset",
        "full",
        "true",
        "~",
        "\"\"",
        "[]",
    ];
    let mut text = chance.of(seeds).clone();
    for _ in 0..=chance.below(3) {
        let tokens = tokens(&text);
        let (from, to) = *chance.of(&tokens);
        let is_number = text[from..to].starts_with(|c: char| c.is_ascii_digit());
        match chance.below(12) {
            0..=3 => {
                let word = chance.of(if is_number { NUMBERS } else { WORDS });
                text.replace_range(from..to, word);
            }
            4 => text.replace_range(from..to, ""),
            5 => {
                let (other_from, other_to) = *chance.of(&tokens);
                let word = text[other_from..other_to].to_owned();
                text.replace_range(from..to, &word);
            }
            6 => {
                let word = text[from..to].to_owned();
                text.insert_str(from, &word);
            }
            7 => {
                let mut lines: Vec<&str> = text.lines().collect();
                let line = chance.below(lines.len());
                match chance.below(2) {
                    0 => {
                        lines.remove(line);
                    }
                    _ => lines.insert(line, lines[line]),
                }
                text = lines.join("\n");
            }
            8 => {
                let other = chance.of(seeds);
                let half = |text: &str, k: usize| text.lines().count() * k / 4;
                let (head, tail) = (half(&text, 1 + chance.below(3)), half(other, 1 + chance.below(3)));
                text = text.lines().take(head).chain(other.lines().skip(tail)).collect::<Vec<_>>().join("\n");
            }
            9 => text.insert(
                from,
                *chance.of(&['{', '}', '[', ']', ':', ',', '#', '&', '*', '"', '\t', '\0', 'é', '−']),
            ),
            10 => text.truncate(to),
            _ if is_number => {
                let grown = format!("{}{}", &text[from..to], chance.below(1000));
                text.replace_range(from..to, &grown);
            }
            _ => text.insert(to, ' '),
        }
        if text.trim().is_empty() {
            return text;
        }
    }
    text
}

fn spoiled_bytes(seeds: &[Vec<u8>], chance: &mut Chance) -> Vec<u8> {
    let mut bytes = chance.of(seeds).clone();
    for _ in 0..=chance.below(6) {
        let at = chance.below(bytes.len());
        let run = at..(at + 1 + chance.below(16)).min(bytes.len());
        match chance.below(7) {
            0 if !bytes.is_empty() => bytes[at] = chance.next() as u8,
            1 if !bytes.is_empty() => bytes[at] ^= 1 << chance.below(8),
            2 => drop(bytes.drain(run)),
            3 => {
                let copied = bytes[run].to_vec();
                let to = chance.below(bytes.len() + 1);
                bytes.splice(to..to, copied);
            }
            4 => bytes.truncate(at),
            5 => {
                let digits: [&[u8]; 7] = [b"0", b"-1", b"1e30", b"1e-30", b"nan", b"99999999", b"4294967295"];
                let digits = *chance.of(&digits);
                bytes.splice(at..at, digits.iter().copied());
            }
            _ => {
                let other = chance.of(seeds);
                let from = chance.below(other.len());
                bytes.truncate(at);
                bytes.extend_from_slice(&other[from..]);
            }
        }
    }
    bytes
}

/// Reads a spec and, where it can be read, fits and checks it.
fn fitted(bytes: &[u8]) {
    let open = |_: &str| Err("there is no such file".to_owned());
    match spec::read("mutant.yaml", bytes, &open) {
        Err(problems) => {
            assert!(!problems.is_empty(), "refused without a reason");
            for problem in problems {
                let place = &problem.place;
                assert!(!problem.message.is_empty() && place.line >= 1 && place.column >= 1, "{problem:?}");
            }
        }
        Ok(plan) => match batch::work_out(plan, &Choice::default()) {
            Ok(outcome) => {
                let pieces = outcome.scales.iter().flat_map(|scale| &scale.pieces);
                for finding in pieces.flat_map(|piece| &piece.findings) {
                    assert!(!finding.text.is_empty() && finding.at.line >= 1, "{finding:?}");
                    assert!(finding.severity == Severity::Note || !finding.help.is_empty(), "{finding:?}");
                }
            }
            Err(Failure::Spec(problems)) => assert!(!problems.is_empty(), "refused without a reason"),
            Err(other) => assert!(!other.to_string().is_empty(), "refused without a reason"),
        },
    }
}

/// What each thread has in hand, for the watchman.
type Hand = Mutex<Option<(u64, Duration)>>;

fn run(kind: &str, count: u64, mutant: impl Fn(u64) -> Vec<u8> + Sync, read: fn(&[u8])) {
    let home = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/mutants");
    let keep = |number: u64, why: &str| -> PathBuf {
        fs::create_dir_all(&home).unwrap();
        let path = home.join(format!("{kind}-{number}"));
        fs::write(&path, mutant(number)).unwrap();
        eprintln!("{} {why}", path.display());
        path
    };
    let next = AtomicU64::new(0);
    let broken: Mutex<Vec<PathBuf>> = Mutex::default();
    let hands: Vec<Hand> = (0..2).map(|_| Mutex::new(None)).collect();
    let done = OnceLock::new();
    std::thread::scope(|scope| {
        let workers: Vec<_> = hands
            .iter()
            .map(|hand| {
                let (next, broken, keep, mutant) = (&next, &broken, &keep, &mutant);
                scope.spawn(move || {
                    loop {
                        let number = next.fetch_add(1, Ordering::Relaxed);
                        if number >= count {
                            return;
                        }
                        let bytes = mutant(number);
                        *hand.lock().unwrap() = Some((number, processor()));
                        if catch_unwind(|| read(&bytes)).is_err() {
                            broken.lock().unwrap().push(keep(number, "panics"));
                        }
                        *hand.lock().unwrap() = None;
                    }
                })
            })
            .collect();
        // A hang cannot be stopped from outside: what hangs is kept, and the run ends there.
        scope.spawn(|| {
            while done.get().is_none() {
                std::thread::sleep(Duration::from_millis(50));
                let at_work: Vec<_> = hands.iter().filter_map(|hand| *hand.lock().unwrap()).collect();
                if peak_kib() > MOST_KIB && !at_work.is_empty() {
                    for (number, _) in at_work {
                        keep(number, "takes more than 1 GB, or another at work beside it does");
                    }
                    std::process::exit(1);
                }
                for (number, begun) in at_work {
                    if processor().saturating_sub(begun) > SLOWEST {
                        keep(number, "hangs");
                        std::process::exit(1);
                    }
                }
            }
        });
        workers.into_iter().for_each(|worker| worker.join().unwrap());
        done.set(()).unwrap();
    });
    let broken = broken.into_inner().unwrap();
    assert!(broken.is_empty(), "{} of {count} break: {broken:?}", broken.len());
    println!("{count} mutants of {kind}; peak memory of the run so far {} MiB", peak_kib() >> 10);
}

/// What the process has had of the processor; where the system does not tell, the time since it was first asked.
fn processor() -> Duration {
    static BEGUN: LazyLock<Instant> = LazyLock::new(Instant::now);
    let stat = fs::read_to_string("/proc/self/stat").unwrap_or_default();
    // proc(5): the name may hold spaces and ends with a bracket; utime and stime are fields 14 and 15, in
    // hundredths of a second.
    let fields = stat.rsplit_once(')').map(|(_, rest)| rest.split_whitespace().skip(11).take(2));
    let ticks = fields.map(|fields| fields.filter_map(|field| field.parse::<u64>().ok()).sum());
    ticks.map_or_else(|| BEGUN.elapsed(), |ticks: u64| Duration::from_millis(10 * ticks))
}

/// Most memory that the process ever had, where the system tells.
fn peak_kib() -> u64 {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.and_then(|line| line.trim().trim_end_matches(" kB").parse().ok()).unwrap_or(0)
}

fn files(kind: &str) -> Vec<Vec<u8>> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let more = if kind == "artwork" { "tests/data/artwork/*.svg" } else { "none" };
    let found = [format!("fuzz/corpus/{kind}/*"), more.to_owned()];
    let found = found.iter().flat_map(|below| glob::glob(&root.join(below).to_string_lossy()).unwrap());
    let found: Vec<_> = found.map(|path| fs::read(path.unwrap()).unwrap()).collect();
    assert!(found.len() > 1, "seeds of {kind} were found");
    found
}

#[test]
fn specs() {
    let seeds = seeds();
    run("spec", 2000 * times(), |number| spoiled_spec(&seeds, &mut Chance(number)).into_bytes(), fitted);
}

#[test]
fn artwork() {
    let seeds = files("artwork");
    run("artwork", 140 * times(), |number| spoiled_bytes(&seeds, &mut Chance(number)), readers::artwork);
}

#[test]
fn meshes() {
    let seeds = files("mesh");
    run("mesh", 140 * times(), |number| spoiled_bytes(&seeds, &mut Chance(number)), readers::mesh);
}

#[test]
fn fonts() {
    let seeds = files("font");
    run("font", 140 * times(), |number| spoiled_bytes(&seeds, &mut Chance(number)), readers::font);
}
