//! YAML text → [`Plan`]: the language, version 1.
//!
//! ```text
//! bytes ─source→ text ─survey→ places, limits ─tree→ values ─lenient→ mirror ─resolve→ Plan
//! ```
//!
//! Whatever is wrong is told in one run, each [`Problem`] with its line, the
//! place marked, and a cure. Files named by `use` are asked of the caller, who
//! knows what may be opened; no file is touched here.

mod artwork;
mod attached;
mod csv;
mod fonts;
mod length;
mod lenient;
mod log;
mod mirror;
mod mirror_drawing;
mod problem;
mod resolve;
mod schema;
mod shapes;
mod source;
mod survey;
mod table;
mod tree;
mod words;

pub use problem::{Excerpt, Problem};
pub use resolve::plan_name;
pub use schema::schema;

use crate::flow::{Limits, Plan};
use crate::units::{Full, Length, Scale};
use attached::{Attached, Kind};
use fonts::Fonts;
use lenient::{May, Need, read as read_mirror};
use log::{At, Log, Wrong};
use mirror::{OneOrMany, Shared, Spec, Uses};
use serde::Deserialize;
use source::Source;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// How the caller opens a file that a spec uses: its name, as from the spec's folder, to its bytes or the reason
/// why not.
pub type Open<'a> = &'a dyn Fn(&str) -> Result<Vec<u8>, String>;

/// What was found in the files that a spec names, besides those that it uses.
struct Found<'a> {
    pictures: &'a artwork::Pictures,
    fonts: &'a Fonts<'a>,
    attached: &'a Attached,
}

/// Most files one spec may use, those that they use included.
const MOST_FILES: usize = 32;

/// Reads a spec and all it uses.
///
/// `file_name` is shown in problems, and its stem names the plan. The caller
/// need not read more than [`Limits::file_bytes`] and one of any file but a mesh.
///
/// # Errors
/// Everything that is wrong with the spec, in the order of its lines. Never empty.
pub fn read(file_name: &str, bytes: &[u8], open: Open<'_>) -> Result<Plan, Vec<Problem>> {
    read_within(Limits::default(), file_name, bytes, open)
}

/// The same within limits of the caller's.
///
/// # Errors
/// As [`read`].
pub fn read_within(
    limits: Limits,
    file_name: &str,
    bytes: &[u8],
    open: Open<'_>,
) -> Result<Plan, Vec<Problem>> {
    let mut files = Files {
        log: Log::within(limits),
        open,
        folder: folder(file_name),
        done: BTreeSet::new(),
        attached: Attached::default(),
    };
    let spec: Option<Spec> = files.mirror(file_name, bytes);
    let mut shared = Vec::new();
    if let Some(spec) = &spec {
        let own = file_name.rsplit(['/', '\\']).next().unwrap_or(file_name);
        files.follow(&spec.r#use, &mut vec![own.to_owned()], &mut shared);
    }
    let pictures = spec.as_ref().map(|spec| artwork::pictures(&mut files, spec)).unwrap_or_default();
    for parts in shared.iter().map(|file| &file.parts).chain(spec.as_ref().map(|spec| &spec.parts)) {
        files.attach(parts);
    }
    let Files { log, attached, folder, .. } = files;
    let found = Found { pictures: &pictures, fonts: &Fonts::new(open, &folder), attached: &attached };
    let plan = spec.and_then(|spec| resolve::plan(&log, file_name, &spec, &shared, &found));
    match plan {
        Some(plan) if log.is_clean() => Ok(plan),
        _ => {
            if log.is_clean() {
                // No way to here is known; should there be one, nobody is to be left without a word.
                let help = "take out what was added last, and put it back bit by bit";
                log.span(0, &(0..0), Wrong::new("something in this spec makes no plan", help));
            }
            Err(log.into_problems())
        }
    }
}

/// A full-size length as a spec writes it, for command lines.
///
/// # Errors
/// What is wrong and what to write instead, on a line each.
pub fn length(text: &str) -> Result<Length<Full>, String> {
    length::length(text).map_err(|wrong| wrong.to_string())
}

/// A scale as a spec writes it, for command lines.
///
/// # Errors
/// What is wrong and what to write instead, on a line each.
pub fn scale(text: &str) -> Result<Scale, String> {
    <Scale as words::Word>::text(text).map_err(|wrong| wrong.to_string())
}

/// The files of one spec, read one after the other.
struct Files<'a> {
    log: Log,
    open: Open<'a>,
    /// The spec's folder as it was named, with its `/`: only for showing names.
    folder: String,
    done: BTreeSet<String>,
    attached: Attached,
}

impl Files<'_> {
    /// Bytes to mirror; `None` where nothing can be read, and the log says why.
    fn mirror<T: for<'de> Deserialize<'de>>(&mut self, name: &str, bytes: &[u8]) -> Option<T> {
        let file = self.log.sources.len();
        match source::decode(bytes, self.log.limits, source::Kind::Spec) {
            Ok(text) => self.log.sources.push(Source::new(name, text)),
            Err((readable, wrong)) => {
                self.log.sources.push(Source::new(name, readable));
                self.log.span(file, &(readable.len()..readable.len()), wrong);
                return None;
            }
        }
        let Some(root) = survey::survey(&mut self.log, file).ok()? else {
            self.log.span(
                file,
                &(0..0),
                Wrong::new("there is nothing in this file", "begin with `markloft: 1`"),
            );
            return None;
        };
        let mut tree = tree::grow(&self.log, file, root).ok()?;
        table::written_out(self, &mut tree);
        read_mirror(&self.log, &tree)
    }

    /// Reads what a file uses, and what that uses, deepest first. `path` is the way here, to tell circles.
    fn follow(&mut self, uses: &May<Uses>, path: &mut Vec<String>, shared: &mut Vec<Shared>) {
        for (name, at) in names(uses) {
            let name = beside(path.last().map_or("", String::as_str), &name);
            if path.contains(&name) {
                let way = path.join(" → ");
                let help = "take one of the `use` lines out";
                self.log.value(at, format!("files that use each other: {way} → {name}"), help);
            } else if self.done.insert(name.clone()) {
                self.follow_one(name, at, path, shared);
            }
        }
    }

    fn follow_one(&mut self, name: String, at: At, path: &mut Vec<String>, shared: &mut Vec<Shared>) {
        if self.done.len() > MOST_FILES {
            self.log.value(at, format!("more than {MOST_FILES} files"), "join some of them");
            return;
        }
        let bytes = match (self.open)(&name) {
            Ok(bytes) => bytes,
            Err(reason) => {
                let message = format!("`{}` cannot be read: {reason}", problem::shown(&name));
                self.log.value(at, message, "names are taken from the folder of the file that uses them");
                return;
            }
        };
        let shown = format!("{}{name}", self.folder);
        if let Some(file) = self.mirror::<Shared>(&shown, &bytes) {
            path.push(name);
            self.follow(&file.r#use, path, shared);
            path.pop();
            shared.push(file);
        }
    }
}

impl Files<'_> {
    /// Opens the files that shapes are read from, each once for each file of the language that names it.
    fn attach(&mut self, parts: &May<mirror::Named<mirror::Part>>) {
        let mut tables: BTreeMap<String, usize> = BTreeMap::new();
        let mut meshes: BTreeMap<String, Arc<[u8]>> = BTreeMap::new();
        for (file, kind) in attached::named(parts) {
            let Some(written) = file.get() else { continue };
            let user = &self.log.sources[self.log.marks[file.at.0].file].name;
            let name = beside(user.strip_prefix(&*self.folder).unwrap_or(user), &written.0);
            if let Some(&source) = tables.get(&name) {
                self.attached.tables.insert(file.at, source);
                continue;
            }
            if let Some(bytes) = meshes.get(&name) {
                self.attached.meshes.insert(file.at, Arc::clone(bytes));
                continue;
            }
            let ending = name.rsplit_once('.').map_or("", |(_, ending)| ending).to_ascii_lowercase();
            if kind == Kind::Mesh && !["stl", "obj"].contains(&&*ending) {
                let message = format!("`{}` is no mesh that is read here", problem::shown(&name));
                self.log.value(file.at, message, "export the part as STL or OBJ, and keep that ending");
                continue;
            }
            let bytes = match (self.open)(&name) {
                Ok(bytes) => bytes,
                Err(reason) => {
                    let message = format!("`{}` cannot be read: {reason}", problem::shown(&name));
                    self.log.value(
                        file.at,
                        message,
                        "names are taken from the folder of the file that uses them",
                    );
                    continue;
                }
            };
            if kind == Kind::Mesh {
                let bytes: Arc<[u8]> = bytes.into();
                self.attached.meshes.insert(file.at, Arc::clone(&bytes));
                meshes.insert(name, bytes);
                continue;
            }
            match source::decode(&bytes, self.log.limits, source::Kind::Table) {
                Ok(text) => {
                    let source = self.log.sources.len();
                    self.log.sources.push(Source::new(&format!("{}{name}", self.folder), text));
                    self.attached.tables.insert(file.at, source);
                    tables.insert(name, source);
                }
                Err((_, wrong)) => {
                    let message = format!("`{}` cannot be read: {}", problem::shown(&name), wrong.message);
                    self.log.value(file.at, message, wrong.help);
                }
            }
        }
    }
}

/// The names a `use` gives.
fn names(uses: &May<Uses>) -> Vec<(String, At)> {
    let named = |item: &Need<words::Text>| Some((item.get()?.0.clone(), item.at));
    match uses.get() {
        None => Vec::new(),
        Some(OneOrMany::Word(name)) => vec![(name.0.clone(), uses.at)],
        Some(OneOrMany::List(items)) => items.iter().filter_map(named).collect(),
    }
}

/// A name as its user sees it, made one from the spec's folder: one file has one name.
fn beside(user: &str, name: &str) -> String {
    let mut parts: Vec<&str> = Vec::new();
    let user_folder = folder(user);
    let whole = if name.starts_with('/') { name.to_owned() } else { format!("{user_folder}{name}") };
    for part in whole.split('/') {
        match part {
            "." => {}
            ".." if parts.last().is_some_and(|last| !matches!(*last, ".." | "")) => {
                parts.pop();
            }
            part => parts.push(part),
        }
    }
    parts.join("/")
}

/// The folder of a named file, with its `/`.
fn folder(name: &str) -> String {
    name.rfind(['/', '\\']).map_or_else(String::new, |end| name[..=end].to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_has_one_name_however_it_is_reached() {
        assert_eq!(beside("a.yaml", "./b.yaml"), "b.yaml");
        assert_eq!(beside("lib/a.yaml", "b.yaml"), "lib/b.yaml");
        assert_eq!(beside("lib/a.yaml", "../b.yaml"), "b.yaml");
        assert_eq!(beside("a.yaml", "../../b.yaml"), "../../b.yaml");
        assert_eq!(beside("lib/a.yaml", "/etc/b.yaml"), "/etc/b.yaml");
    }
}
