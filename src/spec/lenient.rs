//! A serde reader that does not stop at the first problem.
//!
//! serde ends a derived type's reading at its first error. Here every field of
//! the [mirror](super::mirror) is a [`Got`]: it asks this reader for its place
//! and its value, and when the value is wrong the reader writes that down and
//! the field is simply without a value. Words that a struct does not have, and
//! words it needs and was not given, are written down as its fields are dealt
//! out. A dozen mistakes are a dozen problems, each in its place.
//!
//! Two kinds of enum: named ones choose by a word (`drape`) or a map of one
//! entry (`{cone: …}`); those renamed [`BY_FORM`] by whether a word, a list or
//! a map is written.

use super::log::{At, Log, Spot, Wrong};
use super::problem::{known, nearest, shown};
use super::survey::colour_read_as_comment;
use super::tree::{Content, Node};
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::de::value::{BoolDeserializer, StrDeserializer, UsizeDeserializer};
use serde::de::{
    Deserialize, DeserializeSeed, Deserializer, EnumAccess, IntoDeserializer, MapAccess, SeqAccess,
    VariantAccess, Visitor,
};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

/// serde name of an enum whose variants `word`, `list` and `map` stand for the form of what is written.
pub const BY_FORM: &str = "(by form)";
/// serde names by which a [`Got`] makes itself known to the reader.
const NEED: &str = "(need)";
pub const MAY: &str = "(may)";

/// A value with its place, or the place where it would be.
#[derive(Clone, Debug)]
pub struct Got<T, const NEEDED: bool> {
    /// The value; where it is not given, what it is missing from.
    pub at: At,
    /// Whether something is written there, right or wrong.
    pub given: bool,
    value: Option<T>,
}

/// Must be given.
pub type Need<T> = Got<T, true>;
/// May be left out.
pub type May<T> = Got<T, false>;

impl<T, const NEEDED: bool> Got<T, NEEDED> {
    /// The value; `None` where it is not given, or where it is wrong and the log says so.
    pub const fn get(&self) -> Option<&T> {
        self.value.as_ref()
    }

    /// The same, its need told or met.
    pub fn to_may(&self) -> May<T>
    where
        T: Clone,
    {
        Got { at: self.at, given: self.given, value: self.value.clone() }
    }
}

impl<'de, T: Deserialize<'de>, const NEEDED: bool> Deserialize<'de> for Got<T, NEEDED> {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        reader.deserialize_newtype_struct(if NEEDED { NEED } else { MAY }, GotVisitor(PhantomData))
    }
}

impl<T: JsonSchema, const NEEDED: bool> JsonSchema for Got<T, NEEDED> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        T::schema_name()
    }

    /// That of the value; what may be left out says so, for the schema's maker to find.
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let mut schema = generator.subschema_for::<T>();
        if !NEEDED {
            schema.insert(MAY.to_owned(), true.into());
        }
        schema
    }
}

struct GotVisitor<T, const NEEDED: bool>(PhantomData<T>);

impl<'de, T: Deserialize<'de>, const NEEDED: bool> Visitor<'de> for GotVisitor<T, NEEDED> {
    type Value = Got<T, NEEDED>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value with its place")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut parts: A) -> Result<Self::Value, A::Error> {
        let at = At(parts.next_element()?.unwrap_or_default());
        let given = parts.next_element()?.unwrap_or_default();
        Ok(Got { at, given, value: parts.next_element()? })
    }
}

/// Reads one value.
#[derive(Clone, Copy)]
pub struct Reader<'a> {
    log: &'a Log,
    what: What<'a>,
}

#[derive(Clone, Copy)]
enum What<'a> {
    Here(&'a Node),
    /// A field that is not given, and what it is missing from.
    Missing {
        from: At,
        field: &'static str,
        /// The choice it belongs to, where that is only named.
        of: Option<&'static str>,
    },
    /// What goes with a choice that is only named: `follow: ring` has the word, and nothing in it.
    Bare(At, Option<&'static str>),
}

/// Reads a whole tree; what is wrong goes to the log.
pub fn read<T: for<'de> Deserialize<'de>>(log: &Log, root: &Node) -> Option<T> {
    Reader { log, what: What::Here(root) }.value(PhantomData)
}

impl<'a> Reader<'a> {
    fn with(self, what: What<'a>) -> Self {
        Self { what, ..self }
    }

    fn at(self) -> At {
        match self.what {
            What::Here(node) => node.at,
            What::Missing { from, .. } => from,
            What::Bare(at, _) => at,
        }
    }

    /// The value, or `None` and an entry in the log.
    fn value<'de, S: DeserializeSeed<'de>>(self, seed: S) -> Option<S::Value> {
        seed.deserialize(self).map_err(|wrong| self.log.wrong(self.at(), wrong)).ok()
    }

    fn empty(self) -> Wrong {
        let at = self.at();
        let (from, written) = self.log.after_key(at);
        match colour_read_as_comment(written) {
            Some(span) => {
                let colour = &written[span.clone()];
                let message = format!("`{colour}` is read as a comment, so the value is empty");
                let spot = Some(Spot::Bytes(at, from + span.start, from + span.end));
                Wrong { spot, ..Wrong::new(message, format!("quote the colour: \"{colour}\"")) }
            }
            None => {
                let wrong = Wrong::new("the value is empty", "give a value, or leave the whole line out");
                Wrong { spot: Some(Spot::Key(at)), ..wrong }
            }
        }
    }

    /// Deals out a map's entries in the order of the struct's fields. A misspelt word is told, and then read as the
    /// one that was meant: what is given under it is not missing, and may have mistakes of its own.
    fn fields(self, map: &'a [(String, Node)], fields: &'static [&'static str]) -> Fields<'a> {
        let mut meant = Vec::new();
        for (word, node) in map {
            if !fields.contains(&word.as_str()) && !self.log.is_full() {
                let help = known(word, fields.iter().copied());
                self.log.key(node.at, format!("unknown word `{}`", shown(word)), help);
                meant.extend(nearest(word, fields.iter().copied()).map(|field| (field, node)));
            }
        }
        Fields { reader: self, map, meant, rest: fields.iter(), next: What::Bare(self.at(), None) }
    }

    /// The variant that a word or a map of one entry chooses, and what goes with it.
    fn choice(self, variants: &'static [&'static str]) -> Result<Choice<'a>, Wrong> {
        let list = || known("", variants.iter().copied());
        let (word, inner, key) = match self.what {
            What::Here(Node { content: Content::Text(word), at }) => {
                (word.as_str(), What::Bare(*at, None), None)
            }
            What::Here(Node { content: Content::Map(entries), .. }) => match entries.as_slice() {
                [(word, node)] => (word.as_str(), What::Here(node), Some(node.at)),
                [] => return Err(Wrong::new("nothing is chosen", list())),
                [(first, _), (second, _), ..] => {
                    let message = format!("`{}` and `{}` together", shown(first), shown(second));
                    return Err(Wrong::new(message, format!("choose one; {}", list())));
                }
            },
            What::Here(Node { content: Content::Empty, .. }) => return Err(self.empty()),
            What::Bare(..) => return Err(Wrong::new("something must go with this word", list())),
            _ => return Err(Wrong::new("a word, or a map of one entry, is wanted", list())),
        };
        let Some(&variant) = variants.iter().find(|&&variant| variant == word) else {
            let help = known(word, variants.iter().copied());
            return Err(Wrong {
                spot: key.map(Spot::Key),
                ..Wrong::new(format!("unknown word `{}`", shown(word)), help)
            });
        };
        let inner = if let What::Bare(at, _) = inner { What::Bare(at, Some(variant)) } else { inner };
        Ok(Choice { variant, inner: self.with(inner) })
    }

    /// The variant that stands for the form of what is written.
    fn form(self, variants: &'static [&'static str]) -> Result<Choice<'a>, Wrong> {
        let form = match self.what {
            What::Here(Node { content: Content::Empty, .. }) => return Err(self.empty()),
            What::Here(Node { content: Content::List(_), .. }) => "list",
            What::Here(Node { content: Content::Map(_), .. }) => "map",
            _ => "word",
        };
        let Some(&variant) = variants.iter().find(|&&variant| variant == form) else {
            let wanted = variants.join(" or a ");
            return Err(Wrong::new(
                format!("a {form} where a {wanted} is wanted"),
                format!("write a {wanted}"),
            ));
        };
        Ok(Choice { variant, inner: self })
    }
}

impl<'de> Deserializer<'de> for Reader<'_> {
    type Error = Wrong;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Wrong> {
        let node = match self.what {
            What::Here(node) => node,
            What::Missing { field, .. } => return Err(Wrong::new(format!("`{field}` is missing"), "")),
            What::Bare(..) => {
                return Err(Wrong::new("a value is missing", format!("give {}", Wanted(&visitor))));
            }
        };
        match &node.content {
            Content::Empty => Err(self.empty()),
            Content::Yes(yes) => visitor.visit_bool(*yes),
            Content::Number(number) => visitor.visit_f64(*number),
            Content::Text(text) => visitor.visit_str(text),
            Content::List(items) => visitor.visit_seq(Items { reader: self, rest: items.iter() }),
            Content::Map(entries) => {
                visitor.visit_map(Entries { reader: self, rest: entries.iter(), next: None })
            }
        }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        visitor: V,
    ) -> Result<V::Value, Wrong> {
        match name {
            NEED | MAY => visitor.visit_seq(GotParts { reader: self, needed: name == NEED, step: 0 }),
            _ => visitor.visit_newtype_struct(self),
        }
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Wrong> {
        match self.what {
            What::Here(Node { content: Content::Map(entries), .. }) => {
                visitor.visit_map(self.fields(entries, fields))
            }
            What::Bare(..) => visitor.visit_map(self.fields(&[], fields)),
            What::Here(Node { content: Content::Empty, .. }) => Err(self.empty()),
            _ => {
                let words: Vec<String> = fields.iter().map(|field| format!("{field}: …")).collect();
                let help = format!("the words here are `{{{}}}`", words.join(", "));
                Err(Wrong::new("a map `{…}` is wanted here", help))
            }
        }
    }

    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Wrong> {
        match self.what {
            What::Here(Node { content: Content::List(_) | Content::Empty, .. }) => {
                self.deserialize_any(visitor)
            }
            _ => Err(Wrong::new("a list is wanted here", "write a list: `[…, …]`")),
        }
    }

    fn deserialize_tuple<V: Visitor<'de>>(self, len: usize, visitor: V) -> Result<V::Value, Wrong> {
        match self.what {
            What::Here(Node { content: Content::List(items), .. }) if items.len() != len => {
                let message = format!(
                    "{} value{} where {len} are wanted",
                    items.len(),
                    if items.len() == 1 { "" } else { "s" }
                );
                Err(Wrong::new(message, format!("give a list of {len}: `[…, …]`")))
            }
            _ => self.deserialize_seq(visitor),
        }
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        name: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Wrong> {
        visitor.visit_enum(if name == BY_FORM { self.form(variants) } else { self.choice(variants) }?)
    }

    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf option unit
        unit_struct tuple_struct map identifier ignored_any
    }
}

/// What a visitor says that it expects.
struct Wanted<'v, V>(&'v V);

impl<'de, V: Visitor<'de>> fmt::Display for Wanted<'_, V> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.expecting(f)
    }
}

/// What a [`Got`] is made of: its place, whether it is given, and the value if it is right.
struct GotParts<'a> {
    reader: Reader<'a>,
    needed: bool,
    step: u8,
}

impl<'de> SeqAccess<'de> for GotParts<'_> {
    type Error = Wrong;

    fn next_element_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<Option<S::Value>, Wrong> {
        self.step += 1;
        let place: UsizeDeserializer<Wrong> = self.reader.at().0.into_deserializer();
        match (self.step, self.reader.what) {
            (1, _) => seed.deserialize(place).map(Some),
            (2, what) => {
                let given = !matches!(what, What::Missing { .. });
                let given: BoolDeserializer<Wrong> = given.into_deserializer();
                seed.deserialize(given).map(Some)
            }
            (_, What::Missing { from, field, of }) => {
                if self.needed {
                    let help = match of {
                        Some(choice) => {
                            format!("write what belongs to it in braces: `{{{choice}: {{{field}: …}}}}`")
                        }
                        None => format!("add `{field}: …` here"),
                    };
                    self.reader.log.key(from, format!("`{field}` is missing"), help);
                }
                Ok(None)
            }
            _ => Ok(self.reader.value(seed)),
        }
    }
}

/// A struct's fields, given or missing.
struct Fields<'a> {
    reader: Reader<'a>,
    map: &'a [(String, Node)],
    /// Misspelt entries, by the fields they are most like.
    meant: Vec<(&'static str, &'a Node)>,
    rest: std::slice::Iter<'static, &'static str>,
    next: What<'a>,
}

impl<'de> MapAccess<'de> for Fields<'_> {
    type Error = Wrong;

    fn next_key_seed<K: DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, Wrong> {
        let Some(&field) = self.rest.next() else { return Ok(None) };
        let given = self.map.iter().find(|(word, _)| word == field).map(|(_, node)| node);
        let meant = || self.meant.iter().find(|(word, _)| *word == field).map(|(_, node)| *node);
        let of = if let What::Bare(_, choice) = self.reader.what { choice } else { None };
        let missing = What::Missing { from: self.reader.at(), field, of };
        self.next = given.or_else(meant).map_or(missing, What::Here);
        seed.deserialize(StrDeserializer::new(field)).map(Some)
    }

    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, Wrong> {
        seed.deserialize(self.reader.with(self.next))
    }
}

/// A map's entries as they come.
struct Entries<'a> {
    reader: Reader<'a>,
    rest: std::slice::Iter<'a, (String, Node)>,
    next: Option<&'a Node>,
}

impl<'de> MapAccess<'de> for Entries<'_> {
    type Error = Wrong;

    fn next_key_seed<K: DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, Wrong> {
        let Some((word, node)) = self.rest.next() else { return Ok(None) };
        self.next = Some(node);
        seed.deserialize(StrDeserializer::new(word)).map(Some)
    }

    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, Wrong> {
        let what = self.next.map_or(What::Bare(self.reader.at(), None), What::Here);
        seed.deserialize(self.reader.with(what))
    }
}

/// A list's items.
struct Items<'a> {
    reader: Reader<'a>,
    rest: std::slice::Iter<'a, Node>,
}

impl<'de> SeqAccess<'de> for Items<'_> {
    type Error = Wrong;

    fn next_element_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<Option<S::Value>, Wrong> {
        let Some(node) = self.rest.next() else { return Ok(None) };
        seed.deserialize(self.reader.with(What::Here(node))).map(Some)
    }
}

/// A variant and what goes with it.
struct Choice<'a> {
    variant: &'static str,
    inner: Reader<'a>,
}

impl<'de> EnumAccess<'de> for Choice<'_> {
    type Error = Wrong;
    type Variant = Self;

    fn variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<(S::Value, Self), Wrong> {
        Ok((seed.deserialize(StrDeserializer::<Wrong>::new(self.variant))?, self))
    }
}

impl<'de> VariantAccess<'de> for Choice<'_> {
    type Error = Wrong;

    fn unit_variant(self) -> Result<(), Wrong> {
        match self.inner.what {
            What::Bare(..) => Ok(()),
            _ => {
                let message = format!("`{}` takes nothing with it", self.variant);
                let wrong = Wrong::new(message, format!("write the word alone: `{}`", self.variant));
                Err(Wrong { spot: Some(Spot::Value(self.inner.at())), ..wrong })
            }
        }
    }

    fn newtype_variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<S::Value, Wrong> {
        // Wrapped, so that what is wrong with the inner value is shown at it and not at the choice.
        seed.deserialize(self.inner).map_err(|wrong| match self.inner.what {
            What::Here(node) if wrong.spot.is_none() => Wrong { spot: Some(Spot::Value(node.at)), ..wrong },
            _ => wrong,
        })
    }

    fn tuple_variant<V: Visitor<'de>>(self, len: usize, visitor: V) -> Result<V::Value, Wrong> {
        self.inner.deserialize_tuple(len, visitor)
    }

    fn struct_variant<V: Visitor<'de>>(
        self,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Wrong> {
        self.inner.deserialize_struct("", fields, visitor)
    }
}
