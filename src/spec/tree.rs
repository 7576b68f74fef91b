//! The values of a spec, each with its place: serde_yaml reads, along the marks of the first pass.
//!
//! Aliases are written out here; keys that are given twice are kept twice, so
//! that the rest of the spec can still be read and all its problems told at
//! once. Left out: what the values mean.

use super::log::{At, Log, Mark, Wrong};
use super::survey::Stop;
use serde::de::{self, DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};
use std::fmt;

/// A value and its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    pub at: At,
    pub content: Content,
}

impl Node {
    /// How many values it is.
    pub fn weight(&self) -> usize {
        1 + match &self.content {
            Content::List(items) => items.iter().map(Self::weight).sum(),
            Content::Map(entries) => entries.iter().map(|(_, node)| node.weight()).sum::<usize>(),
            _ => 0,
        }
    }
}

/// What YAML knows of a value.
#[derive(Clone, Debug, PartialEq)]
pub enum Content {
    Empty,
    Yes(bool),
    Number(f64),
    Text(String),
    List(Vec<Node>),
    Map(Vec<(String, Node)>),
}

/// Reads a surveyed source.
pub fn grow(log: &Log, file: usize, root: At) -> Result<Node, Stop> {
    let yaml = serde_yaml::Deserializer::from_str(&log.sources[file].text);
    Grow { marks: &log.marks, at: root }.deserialize(yaml).map_err(|error| {
        let start = error.location().map_or(0, |location| location.index());
        let wrong = Wrong::new(format!("not YAML: {error}"), "check the text here");
        log.span(file, &(start..start + 1), wrong);
        Stop
    })
}

/// The value at a mark.
#[derive(Clone, Copy)]
struct Grow<'a> {
    marks: &'a [Mark],
    at: At,
}

impl<'a> Grow<'a> {
    fn mark(&self) -> &'a Mark {
        &self.marks[self.at.0]
    }

    /// The mark of the `index`th item below; serde_yaml and the first pass disagree where there is none.
    fn child<E: de::Error>(&self, index: usize) -> Result<Self, E> {
        let mark = self.mark().repeats.map_or(self.mark(), |target| &self.marks[target.0]);
        let at = mark.children.get(index).ok_or_else(|| E::custom("two readers see two structures here"))?;
        Ok(Self { at: *at, ..*self })
    }

    fn node(&self, content: Content) -> Node {
        Node { at: self.at, content }
    }
}

impl<'de> DeserializeSeed<'de> for Grow<'_> {
    type Value = Node;

    fn deserialize<D: Deserializer<'de>>(self, yaml: D) -> Result<Node, D::Error> {
        yaml.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Grow<'_> {
    type Value = Node;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value")
    }

    fn visit_unit<E>(self) -> Result<Node, E> {
        Ok(self.node(Content::Empty))
    }

    fn visit_bool<E>(self, yes: bool) -> Result<Node, E> {
        Ok(self.node(Content::Yes(yes)))
    }

    fn visit_i64<E>(self, number: i64) -> Result<Node, E> {
        Ok(self.node(Content::Number(number as f64)))
    }

    fn visit_u64<E>(self, number: u64) -> Result<Node, E> {
        Ok(self.node(Content::Number(number as f64)))
    }

    fn visit_f64<E>(self, number: f64) -> Result<Node, E> {
        Ok(self.node(Content::Number(number)))
    }

    fn visit_str<E>(self, text: &str) -> Result<Node, E> {
        Ok(self.node(Content::Text(text.into())))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Node, A::Error> {
        let mut items = Vec::new();
        // Asked of serde_yaml first: past the last item there is no mark to look for.
        while let Some(item) = list.next_element_seed(Item { parent: self, index: items.len() })? {
            items.push(item);
        }
        Ok(self.node(Content::List(items)))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Node, A::Error> {
        let mut entries = Vec::new();
        while map.next_key::<IgnoredAny>()?.is_some() {
            let child = self.child::<A::Error>(entries.len())?;
            let key = child.mark().key.as_ref().map(|key| key.text.clone()).unwrap_or_default();
            entries.push((key, map.next_value_seed(child)?));
        }
        Ok(self.node(Content::Map(entries)))
    }
}

/// An item of a list, whose mark is looked up once it is known to be there.
struct Item<'a> {
    parent: Grow<'a>,
    index: usize,
}

impl<'de> DeserializeSeed<'de> for Item<'_> {
    type Value = Node;

    fn deserialize<D: Deserializer<'de>>(self, yaml: D) -> Result<Node, D::Error> {
        self.parent.child::<D::Error>(self.index)?.deserialize(yaml)
    }
}
