//! What an earlier run left behind: which files it made, out of what, and their hashes.
//!
//! Kept as `.markloft.json` beside the report. A run that finds all it is made of
//! and all it made unchanged has nothing to do; a sheet drawn as before keeps its
//! picture. Leaves out times and machine names: the same run writes the same bytes.

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Read, Write};
use std::path::{Component, Path};

/// The manifest's own name in a spec's folder.
pub const NAME: &str = ".markloft.json";

/// Larger than this no manifest of ours is: 100 000 files.
const MOST_BYTES: u64 = 32 << 20;

/// SHA-256, in hexadecimal.
pub type Hash = String;

/// The hash of some bytes.
pub fn hash(bytes: &[u8]) -> Hash {
    written(&Sha256::digest(bytes))
}

fn written(digest: &[u8]) -> Hash {
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Passes bytes on and takes their hash on the way.
pub struct Hashed<W> {
    out: W,
    hasher: Sha256,
    failed: Option<io::Error>,
}

impl<W: Write> Hashed<W> {
    pub fn new(out: W) -> Self {
        Self { out, hasher: Sha256::new(), failed: None }
    }

    /// Why it could not be written, where it could not. Encoders pass that on in words alone, by which a full
    /// disk is not told from a broken one.
    pub fn failed(&mut self) -> Option<io::Error> {
        self.failed.take()
    }

    /// What was written to, and the hash of what was.
    pub fn finish(self) -> (W, Hash) {
        (self.out, written(&self.hasher.finalize()))
    }
}

impl<W: Write> Hashed<W> {
    /// Keeps the first failure: an encoder that is dropped after one may well write on.
    fn kept<T>(&mut self, done: io::Result<T>) -> io::Result<T> {
        done.inspect_err(|error| {
            if error.kind() != io::ErrorKind::Interrupted {
                self.failed.get_or_insert_with(|| {
                    error.raw_os_error().map_or_else(|| error.kind().into(), io::Error::from_raw_os_error)
                });
            }
        })
    }
}

impl<W: Write> Write for Hashed<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.out.write(bytes);
        let count = self.kept(written)?;
        self.hasher.update(&bytes[..count]);
        Ok(count)
    }

    fn flush(&mut self) -> io::Result<()> {
        let flushed = self.out.flush();
        self.kept(flushed)
    }
}

/// What a run was made of and what it made.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    /// The program's version.
    pub markloft: String,
    /// The spec as it was named, and the options that change what comes out.
    pub asked: String,
    /// Dots per inch of the pictures.
    pub dpi: f64,
    /// How pictures are drawn, besides.
    pub pictures: String,
    /// The spec and every file it uses, as named, and their hashes.
    pub inputs: BTreeMap<String, Hash>,
    /// Files below the spec's folder, with `/`, and their hashes.
    pub files: BTreeMap<String, Hash>,
    /// Files that were on their way in when a run was cut off: each is either as in `files` or as here.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub arriving: BTreeMap<String, Hash>,
    /// Whether something of severity error was found.
    pub errors: bool,
    /// The run in one line.
    pub told: String,
}

impl Manifest {
    /// The manifest of a spec's folder; one that cannot be read is none.
    pub fn read(home: &Path) -> Option<Self> {
        let path = home.join(NAME);
        if fs::metadata(&path).ok()?.len() > MOST_BYTES {
            return None;
        }
        let manifest: Self = serde_json::from_slice(&fs::read(path).ok()?).ok()?;
        // One that was tampered with must not lead out of the folder.
        let inside = |name: &String| {
            let mut parts = Path::new(name).components();
            parts.all(|part| matches!(part, Component::Normal(_)))
        };
        manifest.files.keys().chain(manifest.arriving.keys()).all(inside).then_some(manifest)
    }

    /// Its bytes, ending with a line's end.
    pub fn bytes(&self) -> Vec<u8> {
        let mut text = serde_json::to_string_pretty(self).expect("strings and maps of strings");
        text.push('\n');
        text.into_bytes()
    }

    /// Whether a file is there, whole, as the last finished run left it.
    pub fn holds(&self, home: &Path, name: &str) -> bool {
        self.files.get(name).is_some_and(|kept| hash_of(&home.join(name)).is_ok_and(|now| now == *kept))
    }

    /// Whether everything it was made of, read by `input`, and everything it made is as it was.
    pub fn stands(&self, home: &Path, asked: &str, input: impl Fn(&str) -> Option<Vec<u8>>) -> bool {
        self.markloft == env!("CARGO_PKG_VERSION")
            && self.asked == asked
            && self.arriving.is_empty()
            && self.inputs.iter().all(|(name, kept)| input(name).is_some_and(|bytes| hash(&bytes) == *kept))
            && self.files.keys().all(|name| self.holds(home, name))
    }
}

/// The hash of a file, read piece by piece.
fn hash_of(path: &Path) -> io::Result<Hash> {
    let mut hasher = Sha256::new();
    let mut file = fs::File::open(path)?;
    let mut buffer = vec![0; 1 << 16];
    loop {
        match file.read(&mut buffer)? {
            0 => return Ok(written(&hasher.finalize())),
            count => hasher.update(&buffer[..count]),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4, example of one block: "abc".
    #[test]
    fn the_hash_is_sha_256() {
        assert_eq!(hash(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    /// An encoder of pictures tells a full disk on as words.
    #[test]
    fn why_nothing_could_be_written_is_remembered() {
        struct Full;
        impl Write for Full {
            fn write(&mut self, _: &[u8]) -> io::Result<usize> {
                Err(io::ErrorKind::StorageFull.into())
            }
            fn flush(&mut self) -> io::Result<()> {
                Ok(())
            }
        }
        let mut out = Hashed::new(Full);
        let told = out.write_all(b"a").map_err(|error| io::Error::other(error.to_string()));
        assert_eq!(told.unwrap_err().kind(), io::ErrorKind::Other);
        out.flush().unwrap();
        assert_eq!(out.failed().unwrap().kind(), io::ErrorKind::StorageFull);
        let mut out = Hashed::new(Vec::new());
        out.write_all(b"abc").unwrap();
        assert!(out.failed().is_none());
        assert_eq!(out.finish(), (b"abc".to_vec(), hash(b"abc")));
    }

    #[test]
    fn a_manifest_that_leads_out_of_its_folder_is_none() {
        let home = tempfile::tempdir().unwrap();
        let mut manifest = Manifest { told: "t".into(), ..Manifest::default() };
        manifest.files.insert("1-48/decal-1.svg".into(), hash(b"x"));
        fs::write(home.path().join(NAME), manifest.bytes()).unwrap();
        assert_eq!(Manifest::read(home.path()).as_ref(), Some(&manifest));
        for out in ["../mine.svg", "/etc/passwd", "1-48/../../x"] {
            let mut bad = manifest.clone();
            bad.files.insert(out.into(), hash(b"x"));
            fs::write(home.path().join(NAME), bad.bytes()).unwrap();
            assert_eq!(Manifest::read(home.path()), None, "{out}");
        }
        fs::write(home.path().join(NAME), "not json").unwrap();
        assert_eq!(Manifest::read(home.path()), None);
    }
}
