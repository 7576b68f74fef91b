//! From what was named to specs: files, folders of specs, patterns.
//!
//! In a folder and below it, and of a pattern, every `.yaml` or `.yml` file is
//! taken that has one of the keys only specs have; what specs share has none of
//! them. Hidden folders and links to folders are passed by.

use super::Failure;
use crate::flow::Limits;
use std::fs;
use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};

/// Folders in folders, further down than anyone keeps specs.
const DEEPEST: usize = 32;

/// Keys of a spec that shared files do not have; one is enough, for another may be misspelt.
const OWN_KEYS: [&[u8]; 3] = [b"title:", b"scales:", b"markings:"];

/// The specs that one word of a command line names, in the order of their paths.
pub fn specs(named: &str) -> Vec<Result<String, Failure>> {
    let path = Path::new(named);
    if path.is_dir() {
        let mut found = Vec::new();
        below(path, 0, &mut found);
        found.sort();
        if found.is_empty() {
            return vec![Err(Failure::File {
                path: named.to_owned(),
                what: "there is no spec in this folder".to_owned(),
                help: "a spec is a `.yaml` file with `title`, `scales` and `markings`",
            })];
        }
        return found.into_iter().map(|path| Ok(path.display().to_string())).collect();
    }
    let pattern = !path.exists() && named.contains(['*', '?', '[']);
    let seen = glob::MatchOptions { require_literal_leading_dot: true, ..Default::default() };
    let Some(paths) = pattern.then(|| glob::glob_with(named, seen).ok()).flatten() else {
        return vec![Ok(named.to_owned())];
    };
    let found: Vec<_> =
        paths.flatten().filter(|path| path.is_file() && is_yaml(path) && is_spec(path)).collect();
    if found.is_empty() {
        return vec![Err(Failure::File {
            path: named.to_owned(),
            what: "no spec has a name like this".to_owned(),
            help: "`*` stands for any letters of a name, `**` for any folders; a spec is a `.yaml` file with `title`, `scales` and `markings`",
        })];
    }
    found.into_iter().map(|path| Ok(path.display().to_string())).collect()
}

fn below(folder: &Path, depth: usize, found: &mut Vec<PathBuf>) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let (path, Ok(kind)) = (entry.path(), entry.file_type()) else { continue };
        let hidden = entry.file_name().to_string_lossy().starts_with('.');
        if kind.is_dir() && !hidden && depth < DEEPEST {
            below(&path, depth + 1, found);
        } else if is_yaml(&path) && path.is_file() && is_spec(&path) {
            found.push(path);
        }
    }
}

fn is_yaml(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending == "yaml" || ending == "yml")
}

fn is_spec(path: &Path) -> bool {
    let Ok(file) = fs::File::open(path) else { return false };
    let lines = BufReader::new(file.take(Limits::default().file_bytes())).split(b'\n').map_while(Result::ok);
    let marked = |line: Vec<u8>| OWN_KEYS.iter().any(|key| line.starts_with(key));
    lines.into_iter().any(marked)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folders_and_patterns_are_specs_in_order() {
        let home = tempfile::tempdir().unwrap();
        let home = home.path();
        fs::create_dir_all(home.join("b/.hidden")).unwrap();
        for (name, text) in [
            ("c.yaml", "# first\nmarkloft: 1\nscales: [1/48]\n"),
            ("b/a.yml", "markings: {}"),
            ("b/shared.yaml", "markloft: 1\ncolours: {}\n"),
            ("b/.hidden/x.yaml", "title: t\n"),
            ("d.txt", "markloft: 1\n"),
        ] {
            fs::write(home.join(name), text).unwrap();
        }
        let named = |word: &str| -> Vec<String> {
            let found = specs(&home.join(word).display().to_string());
            let plain = |path: String| path.replace(&format!("{}/", home.display()), "");
            found.into_iter().map(|path| plain(path.unwrap_or_else(|error| error.to_string()))).collect()
        };
        assert_eq!(named(""), ["b/a.yml", "c.yaml"]);
        assert_eq!(named("*.yaml"), ["c.yaml"]);
        assert_eq!(named("**/*.y*ml"), ["b/a.yml", "c.yaml"]);
        assert_eq!(named("missing.yaml"), ["missing.yaml"]);
        assert!(named("*.png")[0].ends_with("no spec has a name like this"));
        assert!(named("*.txt")[0].ends_with("no spec has a name like this"));
        assert!(named("b/.hidden")[0] == "b/.hidden/x.yaml", "a hidden folder that was named is looked at");
    }
}
