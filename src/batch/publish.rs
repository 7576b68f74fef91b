//! Files whole or not at all.
//!
//! Everything is written aside and synced. A journal in the manifest then names
//! what is coming, and each scale's folder is put in place by one exchange of
//! names, so that it is either the old one or the new one. However a run ends, a
//! file that is there is whole, and is either as the manifest's `files` or as its
//! `arriving` says. What is not ours stays: files of others in a scale's folder
//! are linked into the new one first; where that cannot be done (folders in it)
//! our files are renamed one by one instead.

use super::Failure;
use super::lock::{self, Lock};
use super::manifest::{self, Hash, Manifest};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::{self, Write};
use std::path::{Component, Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// How the folders that files are written aside in are named.
const ASIDE: &str = ".markloft-aside-";

/// How everything begins that is there only while a run is.
const UNFINISHED_NAMES: &str = ".markloft-";

/// A file to be put in place.
pub struct Output<'a> {
    /// Below the spec's folder, with `/`.
    pub name: String,
    pub content: Content<'a>,
}

impl Output<'_> {
    pub fn fresh(name: impl Into<String>, text: String) -> Self {
        Self { name: name.into(), content: Content::Fresh(text.into_bytes()) }
    }
}

pub enum Content<'a> {
    Fresh(Vec<u8>),
    /// Too large to be held: written straight into the file.
    Streamed(Stream<'a>),
    /// There already, with this hash.
    Kept(Hash),
}

/// Writes a file's content.
pub type Stream<'a> = Box<dyn FnOnce(&mut (dyn Write + Send)) -> io::Result<()> + Send + 'a>;

/// Folders that hold unfinished work, for a run that is told to stop.
static UNFINISHED: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());

/// Held while names are exchanged, so that a run that is told to stop stops before or after, not within.
static MOVING: Mutex<()> = Mutex::new(());

fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    // A panic elsewhere leaves a set of paths as good as it was.
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Takes away unfinished work; to be followed by the end of the process.
pub fn abandon() {
    // Never given back: nothing may be moved after this.
    std::mem::forget(held(&MOVING));
    for folder in held(&UNFINISHED).iter() {
        let _ = fs::remove_dir_all(folder);
    }
}

/// A folder for work that is not finished, gone when dropped.
struct Aside(tempfile::TempDir);

impl Aside {
    fn new(home: &Path) -> io::Result<Self> {
        let folder = tempfile::Builder::new().prefix(ASIDE).tempdir_in(home)?;
        held(&UNFINISHED).insert(folder.path().to_owned());
        Ok(Self(folder))
    }

    fn path(&self) -> &Path {
        self.0.path()
    }
}

impl Drop for Aside {
    fn drop(&mut self) {
        held(&UNFINISHED).remove(self.0.path());
    }
}

/// Puts all outputs in place under `home`, with a manifest that tells what they are made of, and takes
/// away what an earlier run made and this one did not. Returns the paths, manifest left out.
pub fn publish(home: &Path, outputs: Vec<Output<'_>>, manifest: Manifest) -> Result<Vec<PathBuf>, Failure> {
    fs::create_dir_all(home).map_err(|error| Failure::written(home, &error))?;
    let _alone = Lock::take(home)?;
    clear(home);
    let before = Manifest::read(home).unwrap_or_default();
    for output in &outputs {
        let path = home.join(&output.name);
        if path.is_dir() {
            return Err(Failure::File {
                path: path.display().to_string(),
                what: "cannot be written: this is a folder, not a file".to_owned(),
                help: "a folder of this name is in the way: move it, or write elsewhere with `--out`",
            });
        }
        let above = path.ancestors().skip(1).take_while(|above| *above != home);
        if let Some(file) = above.into_iter().find(|above| above.is_file()) {
            return Err(Failure::File {
                path: file.display().to_string(),
                what: "cannot be written into: this is a file, not a folder".to_owned(),
                help: "a file of this name is in the way: move it, or write elsewhere with `--out`",
            });
        }
    }
    let aside = Aside::new(home).map_err(|error| Failure::written(home, &error))?;
    let staged = stage(home, aside.path(), outputs)?;
    let manifest = Manifest { files: staged, ..manifest };
    let shifted = shift(home, aside.path(), &before, &manifest);
    shifted.map_err(|(path, error)| Failure::written(&path, &error))?;
    let paths = manifest.files.keys().map(|name| home.join(name)).collect();
    Ok(paths)
}

/// Takes away what a killed run left, unless another run is at work.
pub fn tidy(home: &Path) {
    let Ok(entries) = fs::read_dir(home) else { return };
    let left = |entry: fs::DirEntry| entry.file_name().to_string_lossy().starts_with(UNFINISHED_NAMES);
    if entries.flatten().any(left)
        && let Ok(_alone) = Lock::take(home)
    {
        clear(home);
    }
}

/// What killed runs left lying aside.
fn clear(home: &Path) {
    let Ok(entries) = fs::read_dir(home) else { return };
    for entry in entries.flatten() {
        if entry.file_name().to_string_lossy().starts_with(ASIDE) {
            let _ = fs::remove_dir_all(entry.path());
        }
    }
}

/// Writes everything aside and syncs it; the names and hashes of all files.
fn stage(home: &Path, aside: &Path, outputs: Vec<Output<'_>>) -> Result<BTreeMap<String, Hash>, Failure> {
    let mut staged = BTreeMap::new();
    let mut folders = BTreeSet::from([aside.to_owned()]);
    for output in outputs {
        let path = aside.join(&output.name);
        let folder = path.parent().unwrap_or(aside).to_owned();
        let written = fs::create_dir_all(&folder).and_then(|()| match output.content {
            Content::Fresh(bytes) => write_synced(&path, &bytes).map(|()| manifest::hash(&bytes)),
            Content::Streamed(stream) => stream_synced(&path, stream),
            Content::Kept(hash) => link(&home.join(&output.name), &path).map(|()| hash),
        });
        let hash = written.map_err(|error| Failure::written(&home.join(&output.name), &error))?;
        folders.insert(folder);
        staged.insert(output.name, hash);
    }
    for folder in folders {
        sync_folder(&folder).map_err(|error| Failure::written(home, &error))?;
    }
    Ok(staged)
}

/// The same file under a second name; a copy where the file system has no such thing.
fn link(from: &Path, to: &Path) -> io::Result<()> {
    fs::hard_link(from, to).or_else(|_| {
        fs::copy(from, to)?;
        fs::File::open(to)?.sync_all()
    })
}

#[cfg(unix)]
fn sync_folder(folder: &Path) -> io::Result<()> {
    fs::File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}

type Shifted = Result<(), (PathBuf, io::Error)>;

/// Puts what lies aside in place.
fn shift(home: &Path, aside: &Path, before: &Manifest, now: &Manifest) -> Shifted {
    let mut top: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    let mut loose = Vec::new();
    for name in now.files.keys() {
        match name.split_once('/') {
            Some((folder, _)) => top.entry(folder).or_default().push(name),
            None => loose.push(name.as_str()),
        }
    }
    // All that can fail for want of room is done before the first name is changed.
    let whole: Vec<(&str, bool)> = top
        .keys()
        .map(|&folder| (folder, carry_over(&home.join(folder), &aside.join(folder), folder, before, now)))
        .collect();
    let mut arriving = now.files.clone();
    // A run cut off before this one may have put some of its own in place.
    for (name, hash) in &before.arriving {
        arriving.entry(name.clone()).or_insert_with(|| hash.clone());
    }
    let journal = Manifest { arriving, ..before.clone() };
    let (journal_at, manifest_at) = (aside.join("journal.json"), aside.join("manifest.json"));
    let place = home.join(manifest::NAME);
    for (path, content) in [(&journal_at, &journal), (&manifest_at, now)] {
        write_synced(path, &content.bytes()).map_err(|error| (place.clone(), error))?;
    }
    let _moving = held(&MOVING);
    rename(&journal_at, &place)?;
    sync_folder(home).map_err(|error| (home.to_owned(), error))?;
    for (folder, whole) in whole {
        let (from, to) = (aside.join(folder), home.join(folder));
        if !to.exists() {
            rename(&from, &to)?;
        } else if whole {
            exchange(&from, &to, aside).map_err(|error| (to.clone(), error))?;
        } else {
            for name in &top[folder] {
                let path = home.join(name);
                if let Some(parent) = path.parent() {
                    fs::create_dir_all(parent).map_err(|error| (path.clone(), error))?;
                }
                rename(&aside.join(name), &path)?;
            }
        }
    }
    for name in loose {
        rename(&aside.join(name), &home.join(name))?;
    }
    for name in before.files.keys().chain(before.arriving.keys()) {
        if !now.files.contains_key(name) {
            // One that someone has already taken away is as gone as it should be; a folder goes if it is empty.
            let _ = fs::remove_file(home.join(name));
            let _ = home.join(name).parent().filter(|&folder| folder != home).map(fs::remove_dir);
        }
    }
    rename(&manifest_at, &place)?;
    sync_folder(home).map_err(|error| (home.to_owned(), error))
}

fn rename(from: &Path, to: &Path) -> Shifted {
    fs::rename(from, to).map_err(|error| (to.to_owned(), error))
}

fn write_synced(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = fs::File::create(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

fn stream_synced(path: &Path, stream: Stream<'_>) -> io::Result<Hash> {
    let mut file = manifest::Hashed::new(io::BufWriter::new(fs::File::create(path)?));
    stream(&mut file).map_err(|error| file.failed().unwrap_or(error))?;
    let (file, hash) = file.finish();
    file.into_inner().map_err(io::IntoInnerError::into_error)?.sync_all()?;
    Ok(hash)
}

/// Links what is not ours in a folder into the one that will stand in its place; whether that could be done.
fn carry_over(old: &Path, new: &Path, folder: &str, before: &Manifest, now: &Manifest) -> bool {
    let Ok(entries) = fs::read_dir(old) else { return !old.exists() };
    for entry in entries {
        let Ok(entry) = entry else { return false };
        let file_name = entry.file_name();
        let name = file_name.to_str().map(|name| format!("{folder}/{name}"));
        let ours = |name: &String| {
            now.files.contains_key(name)
                || before.files.contains_key(name)
                || before.arriving.contains_key(name)
        };
        if name.as_ref().is_some_and(ours) {
            continue;
        }
        let plain = entry.file_type().is_ok_and(|kind| kind.is_file());
        if !plain || fs::hard_link(entry.path(), new.join(&file_name)).is_err() {
            return false;
        }
    }
    true
}

/// Two folders change names at once.
#[cfg(target_os = "linux")]
fn exchange(new: &Path, old: &Path, aside: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    // A file system that cannot says so, and nothing has happened.
    renameat_with(CWD, new, CWD, old, RenameFlags::EXCHANGE).or_else(|_| one_after_the_other(new, old, aside))
}

#[cfg(not(target_os = "linux"))]
fn exchange(new: &Path, old: &Path, aside: &Path) -> io::Result<()> {
    one_after_the_other(new, old, aside)
}

/// For a moment there is no folder of this name; never half of one.
fn one_after_the_other(new: &Path, old: &Path, aside: &Path) -> io::Result<()> {
    let away = aside.join("replaced");
    fs::rename(old, &away)?;
    fs::rename(new, old)?;
    fs::remove_dir_all(away)
}

/// Whether a path is in a folder of `out` that a run has written, or is writing: what is saved elsewhere is someone's
/// work, even where `out` is the folder they work in.
pub fn is_written_here(out: &Path, path: &Path) -> bool {
    let whole = |path: &Path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let (out, path) = (whole(out), whole(path));
    let Ok(below) = path.strip_prefix(&out) else { return false };
    let Some(first) = below.components().next() else { return true };
    let home = out.join(first);
    let unfinished = |part: Component<'_>| part.as_os_str().to_string_lossy().starts_with(UNFINISHED_NAMES);
    below.components().any(unfinished)
        || [manifest::NAME, lock::NAME].iter().any(|name| home.join(name).exists())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_run_writes_is_told_from_what_someone_saves() {
        let out = tempfile::tempdir().unwrap();
        let home = out.path().join("tail");
        fs::create_dir_all(home.join("1-48")).unwrap();
        let ours = |name: &str| is_written_here(out.path(), &out.path().join(name));
        assert!(!ours("tail/1-48/decal-1.svg"), "nobody has written there yet");
        assert!(ours(&format!("tail/{}", lock::NAME)), "a run that comes to nothing has its lock there");
        fs::write(home.join(manifest::NAME), "{}").unwrap();
        assert!(ours("tail/1-48/decal-1.svg"));
        // The spec beside it is its owner's.
        assert!(!ours("tail.yaml") && !ours("lib/colours.yaml"));
        assert!(!is_written_here(&home, out.path()));
    }

    fn fresh(name: &str, text: &str) -> Output<'static> {
        Output::fresh(name, text.to_owned())
    }

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    fn text(path: &Path) -> String {
        fs::read_to_string(path).unwrap()
    }

    #[test]
    fn folders_are_put_in_place_with_what_is_not_ours() {
        let home = tempfile::tempdir().unwrap();
        let home = home.path();
        let first = vec![
            fresh("report.json", "1"),
            fresh("a/1.svg", "1"),
            fresh("a/2.svg", "1"),
            fresh("b/1.svg", "1"),
        ];
        publish(home, first, Manifest::default()).unwrap();
        fs::write(home.join("a/mine.txt"), "mine").unwrap();
        let second = vec![fresh("report.json", "2"), fresh("a/1.svg", "2")];
        publish(home, second, Manifest::default()).unwrap();
        assert_eq!(names(home), [manifest::NAME, "a", "report.json"]);
        assert_eq!(names(&home.join("a")), ["1.svg", "mine.txt"]);
        assert_eq!([text(&home.join("a/1.svg")), text(&home.join("a/mine.txt"))], ["2", "mine"]);
        assert!(Manifest::read(home).unwrap().arriving.is_empty());
    }

    #[test]
    fn a_folder_with_a_folder_of_someone_in_it_stays_where_it_is() {
        let home = tempfile::tempdir().unwrap();
        let home = home.path();
        publish(home, vec![fresh("a/1.svg", "1"), fresh("a/2.svg", "1")], Manifest::default()).unwrap();
        fs::create_dir(home.join("a/notes")).unwrap();
        publish(home, vec![fresh("a/1.svg", "2")], Manifest::default()).unwrap();
        assert_eq!(names(&home.join("a")), ["1.svg", "notes"]);
        assert_eq!(text(&home.join("a/1.svg")), "2");
    }

    #[test]
    fn what_is_kept_is_still_there() {
        let home = tempfile::tempdir().unwrap();
        let home = home.path();
        publish(home, vec![fresh("a/1.png", "1"), fresh("a/2.svg", "1")], Manifest::default()).unwrap();
        let kept = Output { name: "a/1.png".into(), content: Content::Kept(manifest::hash(b"1")) };
        publish(home, vec![kept, fresh("a/2.svg", "2")], Manifest::default()).unwrap();
        assert_eq!([text(&home.join("a/1.png")), text(&home.join("a/2.svg"))], ["1", "2"]);
        assert!(Manifest::read(home).unwrap().holds(home, "a/1.png"));
    }

    #[test]
    fn what_is_streamed_is_there_with_its_hash_or_nothing_is() {
        let home = tempfile::tempdir().unwrap();
        let home = home.path();
        let streamed = |name: &str, ends_well: bool| Output {
            name: name.into(),
            content: Content::Streamed(Box::new(move |out: &mut (dyn Write + Send)| {
                out.write_all(b"ab")?;
                if ends_well { out.write_all(b"c") } else { Err(io::ErrorKind::StorageFull.into()) }
            })),
        };
        publish(home, vec![streamed("a/1.png", true)], Manifest::default()).unwrap();
        assert_eq!(text(&home.join("a/1.png")), "abc");
        assert_eq!(Manifest::read(home).unwrap().files["a/1.png"], manifest::hash(b"abc"));
        assert!(publish(home, vec![streamed("a/2.png", false)], Manifest::default()).is_err());
        assert_eq!(names(&home.join("a")), ["1.png"]);
        assert_eq!(names(home), [manifest::NAME, "a"]);
    }

    #[test]
    fn what_a_killed_run_left_is_cleared() {
        let home = tempfile::tempdir().unwrap();
        fs::create_dir(home.path().join(".markloft-aside-x")).unwrap();
        publish(home.path(), vec![fresh("a.txt", "1")], Manifest::default()).unwrap();
        assert_eq!(names(home.path()), [manifest::NAME, "a.txt"]);
    }
}
