//! A look through the file before it is drawn: what it has that cannot be carried, and where.
//!
//! usvg leaves out what it does not know or cannot find. So every element, link
//! and path is looked at here first, and the work that `use` and markers would
//! make is counted before it is done.

use super::super::path_data::MOST;
use super::measure::{self, MOST_STROKED, Told};
use super::{Face, MOST_DEPTH, MOST_WEIGHT, Refused};
use std::collections::BTreeMap;
use std::ops::Range;
use usvg::roxmltree::{Document, Node, NodeId};

const SVG: &str = "http://www.w3.org/2000/svg";

/// Elements that are drawn, or that say how others are; SVG 1.1, appendix K.
const DRAWN: [&str; 30] = [
    "svg",
    "g",
    "defs",
    "symbol",
    "use",
    "a",
    "switch",
    "style",
    "title",
    "desc",
    "metadata",
    "path",
    "rect",
    "circle",
    "ellipse",
    "line",
    "polyline",
    "polygon",
    "text",
    "tspan",
    "textPath",
    "clipPath",
    "marker",
    // Refused where something is painted with them.
    "linearGradient",
    "radialGradient",
    "stop",
    "pattern",
    "mask",
    "filter",
    "view",
];

/// What the drawing needs to know of the file's text.
pub struct Survey<'a> {
    xml: &'a Document<'a>,
    ids: BTreeMap<&'a str, NodeId>,
    pub root: Range<usize>,
}

impl<'a> Survey<'a> {
    /// Looks through the whole file.
    pub fn of(xml: &'a Document<'a>, face: Option<&Face>, times: u32) -> Result<Self, Vec<Refused>> {
        let root = xml.root_element();
        if !root.has_tag_name((SVG, "svg")) {
            let message = format!("this is XML, but no SVG: it begins with `{}`", root.tag_name().name());
            let help = "an SVG file begins with `<svg xmlns=\"http://www.w3.org/2000/svg\" …>`";
            return Err(vec![Refused::new(tag(root), message, help)]);
        }
        let elements = || xml.descendants().filter(Node::is_element);
        let ids = elements().filter_map(|node| Some((node.attribute("id")?, node.id()))).collect();
        let survey = Self { xml, ids, root: tag(root) };
        let mut refused: Vec<Refused> = Vec::new();
        // usvg also draws what is in no namespace.
        for node in elements().filter(|node| matches!(node.tag_name().namespace(), None | Some(SVG))) {
            refused.extend(element(node));
            refused.extend(survey.links(node));
            refused.extend(shape(node));
            refused.extend(measure::beyond(node));
        }
        refused.extend(xml.root().children().filter(Node::is_pi).filter_map(|node| {
            let sheet = node.pi().is_some_and(|pi| pi.target == "xml-stylesheet");
            sheet.then(|| Refused::new(node.range(), "a style sheet outside the file", INSIDE))
        }));
        if refused.is_empty() {
            refused.extend(survey.weight(MOST_WEIGHT * times as usize).err());
            refused.extend(super::text::letters(xml, face));
        }
        if refused.is_empty() { Ok(survey) } else { Err(refused) }
    }

    /// The start tag of an element by its `id`, else of the first of this kind, else of the file.
    pub fn place(&self, id: &str, kind: &str) -> Range<usize> {
        let named = self.ids.get(id).and_then(|&id| self.xml.get_node(id));
        let first =
            || self.xml.descendants().find(|node| node.is_element() && node.tag_name().name() == kind);
        named.or_else(first).map_or_else(|| self.root.clone(), tag)
    }

    /// The first element that says something about a property, by attribute or style.
    pub fn saying(&self, property: &str) -> Range<usize> {
        let says = |node: &Node<'_, '_>| {
            node.attributes()
                .any(|a| a.name().contains(property) || (a.name() == "style" && a.value().contains(property)))
                || (node.tag_name().name() == "style"
                    && node.text().is_some_and(|css| css.contains(property)))
        };
        self.xml.descendants().find(says).map_or_else(|| self.root.clone(), tag)
    }

    /// Links that lead outside the file, or nowhere.
    fn links(&self, node: Node<'a, 'a>) -> Vec<Refused> {
        let mut refused = Vec::new();
        let name = node.tag_name().name();
        let links_itself = !matches!(name, "a" | "metadata" | "title" | "desc");
        let mut check = |target: &str| match target.strip_prefix('#') {
            Some(id) if self.ids.contains_key(id) => {}
            Some(id) => refused.push(Refused::new(
                tag(node),
                format!("`{name}` points to `#{}`, which is not in the file", short(id)),
                "take the link out, or put back what it points to",
            )),
            None => refused.push(Refused::new(
                tag(node),
                format!("`{name}` points outside the file: `{}`", short(target)),
                INSIDE,
            )),
        };
        for attribute in node.attributes() {
            if attribute.name() == "href" && links_itself {
                check(attribute.value());
            }
            targets(attribute.value()).for_each(&mut check);
        }
        if name == "style" {
            let css = node.text().unwrap_or_default();
            targets(css).for_each(&mut check);
            if css.contains('@') {
                let help = "write plain rules, without `@import`, `@media` or `@font-face`";
                refused.push(Refused::new(tag(node), "a rule with `@` in a style sheet", help));
            }
        }
        refused
    }

    /// Counts the work: elements and corners, `use` written out, markers at every corner.
    fn weight(&self, most: usize) -> Result<(), Refused> {
        let root = self.xml.root_element();
        let nodes = || self.xml.descendants().filter(Node::is_element);
        let of_kind = |kind| nodes().filter(move |node| node.tag_name().name() == kind);
        let by_sheets = of_kind("style").map(Told::by_sheet).reduce(Told::or);
        let growth = by_sheets.map_or(1.0, |told| told.times);
        let mut scale = Scale { survey: self, growth, known: BTreeMap::new() };
        let Weight { count: mut all, growth } = scale.weigh(root, 0)?;
        let markers = of_kind("marker").map(|node| scale.weigh(node, 0)).collect::<Result<Vec<_>, _>>()?;
        all = all.saturating_mul(1 + markers.into_iter().map(|weight| weight.count).max().unwrap_or(0));
        let rules: usize =
            of_kind("style").map(|node| node.text().unwrap_or_default().matches('{').count()).sum();
        all = all.saturating_add(rules.saturating_mul(nodes().count()) / 8);
        let told = nodes().map(Told::by).chain(by_sheets).reduce(Told::or);
        let longest = told.map_or(0.0, |told| told.plain) * growth;
        if growth > 1.0 && longest > MOST || told.is_some_and(|told| told.stroke * longest > MOST_STROKED) {
            let help = "write sizes plainly, without `em`, `ex` or `%`";
            let message = "lengths told in other lengths, until they are beyond all measure";
            return Err(Refused::new(self.root.clone(), message, help));
        }
        if all > most {
            let help = "simplify the drawing, or take out `use` of `use`";
            let message = format!("written out, it has more than {most} elements and corners");
            return Err(Refused::too_much(self.root.clone(), message, help));
        }
        Ok(())
    }
}

const INSIDE: &str = "files outside an artwork are never opened: put everything into the one file";

/// What an element is with all that it is made of.
#[derive(Clone, Copy)]
struct Weight {
    /// Elements and corners.
    count: usize,
    /// How much lengths grow at most on the way down, told in one another.
    growth: f64,
}

/// Weighs elements, each once.
struct Scale<'s, 'a> {
    survey: &'s Survey<'a>,
    /// By a rule of a style sheet, which may meet any element.
    growth: f64,
    /// `None` while an element is being weighed.
    known: BTreeMap<u32, Option<Weight>>,
}

impl<'a> Scale<'_, 'a> {
    fn weigh(&mut self, node: Node<'a, 'a>, depth: usize) -> Result<Weight, Refused> {
        match self.known.get(&node.id().get()) {
            Some(Some(weight)) => return Ok(*weight),
            Some(None) => {
                let help = "take the `use` out that leads back to itself";
                return Err(Refused::new(tag(node), "an element that is made of itself", help));
            }
            None => {}
        }
        if depth > MOST_DEPTH {
            let message = format!("elements nested more than {MOST_DEPTH} deep");
            return Err(Refused::new(tag(node), message, "ungroup the drawing"));
        }
        self.known.insert(node.id().get(), None);
        // A number and its separator take three bytes, a corner has two.
        let own = ["d", "points"].iter().filter_map(|name| node.attribute(*name)).map(|data| data.len() / 6);
        let mut weight = Weight { count: 1 + own.sum::<usize>(), growth: 1.0 };
        let mut with = |part: Weight| {
            weight.count = weight.count.saturating_add(part.count);
            weight.growth = weight.growth.max(part.growth);
        };
        for child in node.children().filter(Node::is_element) {
            with(self.weigh(child, depth + 1)?);
        }
        if node.tag_name().name() == "use" {
            let link = node.attributes().find(|attribute| attribute.name() == "href");
            let target = link.and_then(|link| self.survey.ids.get(link.value().strip_prefix('#')?));
            if let Some(target) = target.and_then(|&id| self.survey.xml.get_node(id)) {
                with(self.weigh(target, depth + 1)?);
            }
        }
        weight.growth *= self.growth.max(Told::by(node).times);
        self.known.insert(node.id().get(), Some(weight));
        Ok(weight)
    }
}

/// An element that cannot be carried at all.
fn element(node: Node<'_, '_>) -> Option<Refused> {
    let name = node.tag_name().name();
    let script = node.attributes().find(|attribute| attribute.name().starts_with("on"));
    let (message, help) = match name {
        "image" => ("a raster image".to_owned(), "trace it into outlines"),
        "script" => ("a script, and scripts are never run".to_owned(), "save the drawing as it shows"),
        "animate" | "animateMotion" | "animateTransform" | "animateColor" | "set" => {
            (format!("something that moves: `{name}`"), "save the drawing as it shows")
        }
        _ if script.is_some() => {
            ("a script, and scripts are never run".to_owned(), "take the attributes out that begin with `on`")
        }
        // Parts of a filter are refused with the filter, where it is used.
        _ if DRAWN.contains(&name) || name.starts_with("fe") => return None,
        _ => (format!("`{}` is not carried", short(name)), "take it out, or turn it into paths"),
    };
    Some(Refused::new(tag(node), message, help))
}

/// A path or polygon whose data breaks off: viewers draw it up to the mistake.
fn shape(node: Node<'_, '_>) -> Option<Refused> {
    let data = node.attribute_node(if node.tag_name().name() == "path" { "d" } else { "points" })?;
    let broken = match data.name() {
        "d" => svgtypes::PathParser::from(data.value()).any(|step| step.is_err()),
        _ => {
            let mut numbers = svgtypes::NumberListParser::from(data.value());
            let count = numbers.filter(Result::is_ok).count();
            numbers.any(|number| number.is_err()) || count % 2 == 1
        }
    };
    let help = "mend the numbers, or draw it again";
    broken.then(|| {
        Refused::new(data.range(), format!("the data of this `{}` break off", node.tag_name().name()), help)
    })
}

/// What stands in every `url(…)` of a value.
fn targets(value: &str) -> impl Iterator<Item = &str> {
    value.split("url(").skip(1).map(|rest| {
        let end = rest.find(')').unwrap_or(rest.len());
        rest[..end].trim().trim_matches(['"', '\''])
    })
}

/// The bytes of an element's start tag, at most its first line.
pub fn tag(node: Node<'_, '_>) -> Range<usize> {
    let range = node.range();
    let text = &node.document().input_text()[range.clone()];
    let end = text.find(['>', '\n']).map_or(text.len(), |end| end + 1);
    range.start..range.start + end
}

/// A word of the file, short enough for a message.
pub fn short(word: &str) -> String {
    let mut short: String = word.chars().take(40).filter(|c| !c.is_control()).collect();
    if word.chars().nth(40).is_some() {
        short.push('…');
    }
    short
}
