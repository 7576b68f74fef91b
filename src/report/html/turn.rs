//! The bodies that the page's viewer turns: coarse, packed small, each once.
//!
//! A body's places are put on a grid of 65 535 steps along its longest side,
//! normals folded onto a square of bytes (an octahedron: Cigolle and others,
//! Journal of Computer Graphics Techniques 3:2, 2014), strains are fiftieths of a
//! step of the strain pictures. Parts that look alike at several scales share
//! one. Left out: parts too fine for 16-bit corners, which keep their still
//! pictures only.

use crate::flow::{Body, PartId, Skin};
use crate::outline::number::rounded;
use crate::report::body::{Fineness, body};
use crate::report::picture::camera::Camera;
use crate::report::picture::strain::SHADES;
use crate::report::picture::whole::Occupied;
use crate::report::text::plain;
use crate::units::Scale;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use glam::DVec3;
use maud::{Markup, PreEscaped, html};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// What the page runs; its comments stay here.
const SCRIPT: &str = include_str!("turn.js");
/// More bodies than this would make the page slow to open: 400 of about 15 kB.
const MOST: usize = 400;

/// Every body of the page, and which is whose.
#[derive(Debug, Default)]
pub struct Turns {
    bodies: Vec<String>,
    of: BTreeMap<(String, usize), usize>,
}

impl Turns {
    /// Of the parts at each scale.
    pub fn new(each: &[Vec<Occupied>]) -> Self {
        let mut turns = Self::default();
        for (k, parts) in each.iter().enumerate() {
            for part in parts {
                let earlier =
                    each[..k].iter().flatten().find(|other| other.part == part.part && other.alike(part));
                let place = |of: &Occupied| (of.at.scale.folder(), of.part.0);
                match earlier {
                    Some(earlier) => {
                        if let Some(&known) = turns.of.get(&place(earlier)) {
                            turns.of.insert(place(part), known);
                        }
                    }
                    None if turns.bodies.len() < MOST => {
                        if let Some(packed) = packed(&body(part, Fineness::Coarse), &part.corner()) {
                            turns.of.insert(place(part), turns.bodies.len());
                            turns.bodies.push(packed.to_string());
                        }
                    }
                    None => {}
                }
            }
        }
        turns
    }

    /// The button that turns a part, shown by the script where it can; `name` is the part's, `says` what the
    /// picture says.
    pub fn button(&self, scale: Scale, part: PartId, name: &str, says: &str) -> Markup {
        html! {
            @if let Some(body) = self.of.get(&(scale.folder(), part.0)) {
                button.turn type="button" hidden data-body=(body) data-says=(says) aria-label={ "Turn it: " (plain(name)) } { "Turn it" }
            }
        }
    }

    /// The bodies and the script; nothing where there is no body.
    pub fn script(&self) -> Markup {
        let code: Vec<&str> = SCRIPT.lines().map(str::trim).filter(|line| !line.starts_with("//")).collect();
        html! {
            @if !self.bodies.is_empty() {
                // Numbers and base64 only: no text of the spec.
                script id="bodies" type="application/json" {
                    (PreEscaped(format!("{{\"shades\":{},\"bodies\":[{}]}}", json!(SHADES), self.bodies.join(","))))
                }
                script { (PreEscaped(code.join("\n"))) }
            }
        }
    }
}

/// `None` for a body of more corners than 16 bits count.
fn packed(body: &Body, camera: &Camera) -> Option<Value> {
    let skins: Vec<&Skin> =
        std::iter::once(&body.plastic).chain(body.films.iter().flat_map(|film| &film.skins)).collect();
    let points = || skins.iter().flat_map(|skin| &skin.points);
    let count = points().count();
    if count == 0 || count > usize::from(u16::MAX) {
        return None;
    }
    let (low, high) =
        points().fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(l, h), &p| (l.min(p), h.max(p)));
    let middle = (low + high) / 2.0;
    // A cube that holds the part however it is turned.
    let reach = points().map(|&p| (p - middle).length()).fold(1e-9, f64::max);
    let place = |p: DVec3| {
        let at = ((p - middle) / reach + DVec3::ONE) / 2.0;
        at.to_array().map(|v| (v * f64::from(u16::MAX)).round() as u16)
    };
    let mut data: Vec<u8> = points().flat_map(|&p| place(p)).flat_map(u16::to_le_bytes).collect();
    data.extend(skins.iter().flat_map(|skin| &skin.normals).flat_map(|&n| folded(n)));
    for skin in &skins {
        // A float past the byte's range is its last value.
        data.extend(skin.strains.iter().map(|at| (at.step * 50.0).round() as u8));
        data.extend(std::iter::repeat_n(0, skin.points.len() - skin.strains.len()));
    }
    let mut from = 0;
    let mut list = Vec::new();
    let mut corners = Vec::new();
    for skin in &skins {
        corners.extend(skin.triangles.as_flattened().iter().flat_map(|k| ((k + from) as u16).to_le_bytes()));
        list.push(json!([skin.rgb, skin.triangles.len() * 3]));
        from += skin.points.len() as u32;
    }
    data.extend(corners);
    let towards = camera.axes[2];
    Some(json!({
        "points": count,
        "view": [rounded(libm::atan2(towards.y, towards.x), 3), rounded(libm::asin(towards.z), 3)],
        "skins": list,
        "data": STANDARD.encode(&data),
    }))
}

/// A unit vector as two signed bytes.
fn folded(n: DVec3) -> [u8; 2] {
    let n = n / (n.x.abs() + n.y.abs() + n.z.abs()).max(1e-9);
    let sign = |v: f64| if v < 0.0 { -1.0 } else { 1.0 };
    let [x, y] =
        if n.z < 0.0 { [(1.0 - n.y.abs()) * sign(n.x), (1.0 - n.x.abs()) * sign(n.y)] } else { [n.x, n.y] };
    [x, y].map(|v| ((v * 127.0).round() as i8).to_le_bytes()[0])
}

#[cfg(test)]
mod tests {
    use super::super::super::fixture;
    use super::*;

    #[test]
    fn parts_that_look_alike_at_several_scales_are_given_once() {
        let outcome = fixture::three_scales();
        let each: Vec<_> = outcome.scales.iter().map(|at| Occupied::all(&outcome.plan, at)).collect();
        let turns = Turns::new(&each);
        assert_eq!((turns.of.len(), turns.bodies.len()), (6, 2));
    }

    #[test]
    fn a_body_is_read_back_where_it_was() {
        let outcome = fixture::outcome();
        let body = body(&Occupied::all(&outcome.plan, &outcome.scales[0])[0], Fineness::Coarse);
        let packed = packed(&body, &Camera::corners()[0]).unwrap();
        let bytes = STANDARD.decode(packed["data"].as_str().unwrap()).unwrap();
        let count = packed["points"].as_u64().unwrap() as usize;
        let word = |k: usize| f64::from(u16::from_le_bytes([bytes[2 * k], bytes[2 * k + 1]])) / 65535.0;
        // The first corner is the sphere's foremost point, 125/48 mm ahead of its middle; the film adds little.
        let first = [word(0), word(1), word(2)].map(|v| v * 2.0 - 1.0);
        assert!((first[0] + 1.0).abs() < 0.05 && first[1].abs() < 0.05, "{first:?}");
        let corners: u64 = packed["skins"].as_array().unwrap().iter().map(|s| s[1].as_u64().unwrap()).sum();
        assert_eq!(bytes.len(), count * 9 + corners as usize * 2);
    }

    #[test]
    fn folded_normals_unfold() {
        for n in [DVec3::X, DVec3::NEG_Z, DVec3::new(0.3, -0.5, -0.81), DVec3::new(-0.6, 0.0, 0.8)] {
            let n = n.normalize();
            let [x, y] = folded(n).map(|b| f64::from(b as i8) / 127.0);
            let mut m = DVec3::new(x, y, 1.0 - x.abs() - y.abs());
            if m.z < 0.0 {
                let sign = |v: f64| if v < 0.0 { -1.0 } else { 1.0 };
                (m.x, m.y) = ((1.0 - y.abs()) * sign(x), (1.0 - x.abs()) * sign(y));
            }
            assert!(m.normalize().dot(n) > 0.999, "{n} {m}");
        }
    }
}
