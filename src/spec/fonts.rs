//! Font files that a spec names: each opened and read once, through the caller's own opener.

use super::log::{At, Log};
use super::{Open, beside};
use crate::outline::font::Font;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::sync::Arc;

type Found = Result<Arc<Font>, String>;

/// The fonts asked for so far, by name as from the spec's folder.
pub struct Fonts<'a> {
    open: Open<'a>,
    /// The spec's folder as it was named, with its `/`.
    folder: String,
    found: RefCell<BTreeMap<String, Found>>,
}

impl<'a> Fonts<'a> {
    pub fn new(open: Open<'a>, folder: &str) -> Self {
        Self { open, folder: folder.to_owned(), found: RefCell::default() }
    }

    /// The font that a file calls by this name, beside that file; or why there is none.
    pub fn find(&self, log: &Log, at: At, name: &str) -> Found {
        let user = &log.sources[log.marks[at.0].file].name;
        let name = beside(user.strip_prefix(&*self.folder).unwrap_or(user), name);
        if let Some(found) = self.found.borrow().get(&name) {
            return found.clone();
        }
        let read = |bytes: Vec<u8>| Font::read(bytes.into()).map_err(str::to_owned);
        let found = (self.open)(&name).and_then(read).map(Arc::new);
        self.found.borrow_mut().insert(name, found.clone());
        found
    }
}
