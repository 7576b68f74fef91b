//! A spec and the files that it names, read from where that is allowed and no more of them than is.
//!
//! Left out: what is in them, which `spec` reads.

use super::manifest::{self, Hash};
use super::{Failure, words};
use crate::flow::{Limits, Plan};
use crate::spec;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// What may be read: where files that a spec names may lie besides its own folder, and how much.
#[derive(Clone, Debug, Default)]
pub struct Access {
    pub folders: Vec<PathBuf>,
    pub limits: Limits,
}

/// A plan and what it was made of.
#[derive(Clone, Debug)]
pub struct Loaded {
    pub plan: Plan,
    /// The spec and every file it uses, as named, and their hashes.
    pub(super) inputs: BTreeMap<String, Hash>,
}

/// Reads and resolves a spec; `-` is standard input.
pub fn load(path: &str) -> Result<Plan, Failure> {
    load_with(path, &Access::default()).map(|loaded| loaded.plan)
}

/// Reads and resolves a spec that may use files from other folders too.
pub fn load_with(path: &str, access: &Access) -> Result<Loaded, Failure> {
    let (bytes, folder) = read_spec(path, access.limits)?;
    let name = if path == "-" { "stdin.yaml" } else { path };
    let inputs = RefCell::new(BTreeMap::from([(path.to_owned(), manifest::hash(&bytes))]));
    let open = |used: &str| {
        let bytes = open_used(&folder, used, access)?;
        inputs.borrow_mut().insert(used.to_owned(), manifest::hash(&bytes));
        Ok(bytes)
    };
    let plan = spec::read_within(access.limits, name, &bytes, &open).map_err(Failure::Spec)?;
    Ok(Loaded { plan, inputs: inputs.into_inner() })
}

/// The bytes of a spec, and the folder that the files it names are looked for in.
pub fn read_spec(path: &str, limits: Limits) -> Result<(Vec<u8>, PathBuf), Failure> {
    if path == "-" {
        let bytes = read_limited(&mut io::stdin().lock(), Path::new("standard input"), limits.file_bytes())?;
        return Ok((bytes, PathBuf::from(".")));
    }
    let path = Path::new(path);
    Ok((read_file(path, limits.file_bytes())?, path.parent().unwrap_or(Path::new(".")).to_owned()))
}

/// Resolves a spec that is part of the program.
pub fn load_embedded(name: &str, text: &str) -> Result<Plan, Failure> {
    let none = |_: &str| Err("a built-in spec uses no other files".to_owned());
    spec::read(name, text.as_bytes(), &none).map_err(Failure::Spec)
}

fn read_file(path: &Path, most: u64) -> Result<Vec<u8>, Failure> {
    let mut file = fs::File::open(path).map_err(|error| Failure::read(path, &error))?;
    let kind = file.metadata().map_err(|error| Failure::read(path, &error))?;
    if kind.is_dir() {
        return Err(Failure::File {
            path: path.display().to_string(),
            what: "this is a folder".to_owned(),
            help: "name a spec file in it",
        });
    }
    read_limited(&mut file, path, most)
}

fn read_limited(source: &mut dyn Read, path: &Path, most: u64) -> Result<Vec<u8>, Failure> {
    let mut bytes = Vec::new();
    source.take(most + 1).read_to_end(&mut bytes).map_err(|error| Failure::read(path, &error))?;
    if bytes.len() as u64 > most {
        let what = format!("larger than the {} MiB that it may have", most >> 20);
        let help = "put what several specs share into files of its own and name them with `use`, or read more: `--limits 4` allows four times as much";
        return Err(Failure::File { path: path.display().to_string(), what, help });
    }
    Ok(bytes)
}

/// Reads a file that a spec uses: from below the spec's own folder or one that is allowed, links
/// followed before that is checked.
pub fn open_used(folder: &Path, name: &str, access: &Access) -> Result<Vec<u8>, String> {
    let home = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let home = home.canonicalize().map_err(|error| words(&error))?;
    let path = home.join(name).canonicalize().map_err(|error| words(&error))?;
    let allowed = access.folders.iter().filter_map(|folder| folder.canonicalize().ok());
    if !allowed.chain([home]).any(|folder| path.starts_with(folder)) {
        return Err("it lies outside the spec's folder; `--allow-dir FOLDER` allows one more".to_owned());
    }
    // A pipe or a device could be waited for without end.
    if !fs::metadata(&path).map_err(|error| words(&error))?.is_file() {
        return Err("it is no file".to_owned());
    }
    let is_mesh = path
        .extension()
        .is_some_and(|ending| ["stl", "obj"].iter().any(|known| ending.eq_ignore_ascii_case(known)));
    let most = if is_mesh { access.limits.mesh_bytes() } else { access.limits.file_bytes() };
    let mut bytes = Vec::new();
    let file = fs::File::open(&path).map_err(|error| words(&error))?;
    file.take(most + 1).read_to_end(&mut bytes).map_err(|error| words(&error))?;
    if bytes.len() as u64 > most {
        return Err(format!(
            "it is larger than the {} MiB that are read of a file; {}",
            most >> 20,
            Limits::RAISE
        ));
    }
    Ok(bytes)
}
