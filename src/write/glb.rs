//! A part with its films as GLB: glTF 2.0 in one binary file (ISO/IEC 12113).
//!
//! Metres at model size, as glTF asks: y up, the part's front along +z, its right
//! along −x. Two scenes: `painted`, which readers show first, and `strain`, the
//! same films in the colours of the report's strain pictures. Films also carry
//! their strain as numbers, `_STRETCH` and `_SQUEEZE`, shares of 1. Films stand
//! off the plastic by `THICK`; all else is as solved.
//!
//! Left out: pictures, cameras, animation, extensions.

use crate::flow::{Body, Skin, hex, linear_light};
use crate::outline::lettering::clean;
use crate::outline::number::rounded;
use glam::DVec3;
use serde_json::{Value, json};

/// How far film stands off the plastic, mm: about a decal's own thickness, lest the two flicker.
const THICK: f64 = 0.02;
/// Millimetres in a metre.
const MM: f64 = 1000.0;

/// Component types and targets by their OpenGL numbers (glTF 2.0, 5.1 and 5.11).
const FLOAT: u32 = 5126;
const UNSIGNED_INT: u32 = 5125;
const UNSIGNED_BYTE: u32 = 5121;
const ARRAY: u32 = 34962;
const ELEMENT_ARRAY: u32 = 34963;

/// The whole file. `shades` are the colours of the steps of strain.
pub fn glb(body: &Body, title: &str, shades: &[[u8; 3]]) -> Vec<u8> {
    let mut file = File::default();
    file.materials.push(material("strain", [255; 3]));
    let plastic = file.skin(&body.plastic, 0.0);
    let mesh = plastic.map(|given| {
        let paint = file.paint(body.plastic.rgb);
        file.mesh(&body.name, vec![given.primitive(paint)])
    });
    let part: Vec<usize> = mesh.map(|mesh| file.node(&body.name, mesh)).into_iter().collect();
    let (mut painted, mut strained) = (part.clone(), part);
    for film in &body.films {
        let (mut as_painted, mut as_strained) = (Vec::new(), Vec::new());
        for skin in &film.skins {
            let Some(mut given) = file.skin(skin, THICK) else { continue };
            let paint = file.paint(skin.rgb);
            as_painted.push(given.primitive(paint));
            let colours: Vec<u8> = skin.strains.iter().flat_map(|at| shade(at.step, shades)).collect();
            if !colours.is_empty() {
                let view = file.view(&colours, ARRAY);
                let colour = file.accessor(json!({
                    "bufferView": view, "componentType": UNSIGNED_BYTE, "normalized": true,
                    "count": skin.points.len(), "type": "VEC4"
                }));
                given.attributes["COLOR_0"] = json!(colour);
                as_strained.push(given.primitive(0));
            }
        }
        if !as_painted.is_empty() {
            let mesh = file.mesh(&film.name, as_painted);
            painted.push(file.node(&film.name, mesh));
        }
        if !as_strained.is_empty() {
            let name = format!("{}, strain", film.name);
            let mesh = file.mesh(&name, as_strained);
            strained.push(file.node(&name, mesh));
        }
    }
    file.finish(title, &painted, &strained)
}

/// A skin's accessors.
struct Given {
    attributes: Value,
    indices: usize,
}

impl Given {
    fn primitive(&self, material: usize) -> Value {
        json!({"attributes": self.attributes, "indices": self.indices, "material": material})
    }
}

/// A file being put together.
#[derive(Default)]
struct File {
    bytes: Vec<u8>,
    views: Vec<Value>,
    accessors: Vec<Value>,
    materials: Vec<Value>,
    paints: Vec<[u8; 3]>,
    meshes: Vec<Value>,
    nodes: Vec<Value>,
}

impl File {
    /// `None` for a skin without a triangle.
    fn skin(&mut self, skin: &Skin, off: f64) -> Option<Given> {
        if skin.triangles.is_empty() {
            return None;
        }
        let place = |(&p, &n): (&DVec3, &DVec3)| turned((p + n * off) / MM);
        let points: Vec<[f32; 3]> = skin.points.iter().zip(&skin.normals).map(place).collect();
        let bound = |pick: fn(f32, f32) -> f32| {
            let first = points[0];
            points.iter().fold(first, |a, b| [pick(a[0], b[0]), pick(a[1], b[1]), pick(a[2], b[2])])
        };
        let (least, most) = (bound(f32::min), bound(f32::max));
        let view = self.floats(points.as_flattened());
        let position = self.accessor(json!({
            "bufferView": view, "componentType": FLOAT, "count": points.len(), "type": "VEC3",
            "min": least, "max": most
        }));
        let normals: Vec<[f32; 3]> = skin.normals.iter().map(|&n| turned(n)).collect();
        let view = self.floats(normals.as_flattened());
        let normal = self.accessor(json!({
            "bufferView": view, "componentType": FLOAT, "count": points.len(), "type": "VEC3"
        }));
        let mut attributes = json!({"POSITION": position, "NORMAL": normal});
        if !skin.strains.is_empty() {
            let numbers = [
                ("_STRETCH", skin.strains.iter().map(|at| at.stretch as f32).collect::<Vec<f32>>()),
                ("_SQUEEZE", skin.strains.iter().map(|at| at.squeeze as f32).collect()),
            ];
            for (name, values) in numbers {
                let view = self.floats(&values);
                attributes[name] = json!(self.accessor(json!({
                    "bufferView": view, "componentType": FLOAT, "count": values.len(), "type": "SCALAR"
                })));
            }
        }
        let corners: Vec<u8> = skin.triangles.as_flattened().iter().flat_map(|k| k.to_le_bytes()).collect();
        let view = self.view(&corners, ELEMENT_ARRAY);
        let indices = self.accessor(json!({
            "bufferView": view, "componentType": UNSIGNED_INT, "count": skin.triangles.len() * 3,
            "type": "SCALAR"
        }));
        Some(Given { attributes, indices })
    }

    fn floats(&mut self, values: &[f32]) -> usize {
        let bytes: Vec<u8> = values.iter().flat_map(|value| value.to_le_bytes()).collect();
        self.view(&bytes, ARRAY)
    }

    /// Every length is a multiple of four bytes, which is all the alignment glTF asks.
    fn view(&mut self, bytes: &[u8], target: u32) -> usize {
        let view = json!({
            "buffer": 0, "byteOffset": self.bytes.len(), "byteLength": bytes.len(), "target": target
        });
        self.bytes.extend(bytes);
        self.views.push(view);
        self.views.len() - 1
    }

    fn accessor(&mut self, accessor: Value) -> usize {
        self.accessors.push(accessor);
        self.accessors.len() - 1
    }

    /// The material of a colour; the first material is that of strain.
    fn paint(&mut self, rgb: [u8; 3]) -> usize {
        if let Some(known) = self.paints.iter().position(|paint| *paint == rgb) {
            return known + 1;
        }
        self.materials.push(material(&hex(rgb), rgb));
        self.paints.push(rgb);
        self.paints.len()
    }

    fn mesh(&mut self, name: &str, primitives: Vec<Value>) -> usize {
        self.meshes.push(json!({"name": clean(name), "primitives": primitives}));
        self.meshes.len() - 1
    }

    fn node(&mut self, name: &str, mesh: usize) -> usize {
        self.nodes.push(json!({"name": clean(name), "mesh": mesh}));
        self.nodes.len() - 1
    }

    fn finish(mut self, title: &str, painted: &[usize], strained: &[usize]) -> Vec<u8> {
        let mut root = json!({
            "asset": {"version": "2.0", "generator": "markloft"},
            "scene": 0,
            "scenes": [{"name": clean(title)}, {"name": "strain"}],
            "materials": self.materials,
        });
        // Lists that may not be empty are left out where they are.
        let lists = [
            ("nodes", &self.nodes),
            ("meshes", &self.meshes),
            ("accessors", &self.accessors),
            ("bufferViews", &self.views),
        ];
        for (name, list) in lists {
            if !list.is_empty() {
                root[name] = json!(list);
            }
        }
        for (scene, nodes) in [painted, strained].into_iter().enumerate() {
            if !nodes.is_empty() {
                root["scenes"][scene]["nodes"] = json!(nodes);
            }
        }
        if !self.bytes.is_empty() {
            root["buffers"] = json!([{"byteLength": self.bytes.len()}]);
        }
        let mut text = root.to_string().into_bytes();
        text.resize(text.len().next_multiple_of(4), b' ');
        self.bytes.resize(self.bytes.len().next_multiple_of(4), 0);
        // Header and chunks: glTF 2.0, 4.4 (GLB).
        let chunks = [(&text, b"JSON"), (&self.bytes, b"BIN\0")];
        let chunks: Vec<_> = chunks.into_iter().filter(|(chunk, _)| !chunk.is_empty()).collect();
        let length = 12 + chunks.iter().map(|(chunk, _)| 8 + chunk.len()).sum::<usize>();
        let mut file = b"glTF".to_vec();
        file.extend(2u32.to_le_bytes());
        file.extend((length as u32).to_le_bytes());
        for (chunk, kind) in chunks {
            file.extend((chunk.len() as u32).to_le_bytes());
            file.extend(kind);
            file.extend(chunk);
        }
        file
    }
}

/// From the part's frame to glTF's: y up, the front along +z.
fn turned(p: DVec3) -> [f32; 3] {
    // Adding nought makes one of the two noughts.
    [-p.y + 0.0, p.z + 0.0, -p.x + 0.0].map(|value| value as f32)
}

fn material(name: &str, rgb: [u8; 3]) -> Value {
    let [r, g, b] = rgb.map(|byte| rounded(linear_light(byte), 5));
    json!({
        "name": name,
        "doubleSided": true,
        "pbrMetallicRoughness": {
            "baseColorFactor": [r, g, b, 1.0], "metallicFactor": 0.0, "roughnessFactor": 0.8
        }
    })
}

/// The colour of a step of strain, in linear light, opaque.
fn shade(step: f64, shades: &[[u8; 3]]) -> [u8; 4] {
    let last = shades.len().saturating_sub(1);
    // A negative float becomes 0.
    let [r, g, b] = shades.get((step as usize).min(last)).copied().unwrap_or([255; 3]).map(linear_light);
    let byte = |light: f64| (light * 255.0).round() as u8;
    [byte(r), byte(g), byte(b), 255]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::{LaidFilm, PointStrain};

    fn body() -> Body {
        let square = |z: f64| Skin {
            rgb: [200, 50, 30],
            points: [(0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (0.0, 20.0)]
                .map(|(x, y)| DVec3::new(x, y, z))
                .to_vec(),
            normals: vec![DVec3::Z; 4],
            triangles: vec![[0, 1, 2], [0, 2, 3]],
            strains: Vec::new(),
        };
        let strain = PointStrain { stretch: 0.01, squeeze: -0.02, step: 4.5 };
        let film = Skin { strains: vec![strain; 4], ..square(0.0) };
        Body {
            name: "<door> \u{7}".into(),
            plastic: square(0.0),
            films: vec![LaidFilm { name: "roundel".into(), skins: vec![film] }],
        }
    }

    /// The chunks as a reader finds them.
    fn read(file: &[u8]) -> (Value, &[u8]) {
        let word = |at: usize| u32::from_le_bytes(file[at..at + 4].try_into().unwrap()) as usize;
        assert_eq!((&file[..4], word(4), word(8)), (&b"glTF"[..], 2, file.len()));
        let text = &file[20..20 + word(12)];
        assert_eq!(&file[16..20], b"JSON");
        let bin = 20 + word(12);
        assert_eq!(&file[bin + 4..bin + 8], b"BIN\0");
        (serde_json::from_slice(text).unwrap(), &file[bin + 8..bin + 8 + word(bin)])
    }

    #[test]
    fn a_plate_is_in_metres_with_its_front_ahead() {
        let file = glb(&body(), "<script>", &[[1, 2, 3], [255, 255, 255]]);
        let (root, _) = read(&file);
        assert_eq!(root["asset"]["version"], "2.0");
        // 30 mm aft is 0.03 m against z, 20 mm to the right 0.02 m against x.
        let plastic = &root["accessors"][0];
        let numbers = |key: &str| -> Vec<f64> {
            plastic[key].as_array().unwrap().iter().map(|n| n.as_f64().unwrap()).collect()
        };
        let near = |a: Vec<f64>, b: [f64; 3]| a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-8);
        assert!(
            near(numbers("min"), [-0.02, 0.0, -0.03]) && near(numbers("max"), [0.0, 0.0, 0.0]),
            "{plastic}"
        );
        assert_eq!(root["scenes"][0]["name"], "<script>");
        assert_eq!(root["nodes"][0]["name"], "<door> ");
    }

    #[test]
    fn film_stands_off_and_carries_its_strain() {
        let file = glb(&body(), "t", &[[0, 0, 0], [255, 255, 255]]);
        let (root, bin) = read(&file);
        let film = &root["meshes"][1]["primitives"][0];
        let accessor = |name: &str| &root["accessors"][film["attributes"][name].as_u64().unwrap() as usize];
        assert!((accessor("POSITION")["max"][1].as_f64().unwrap() - 2e-5).abs() < 1e-10);
        let at = |name: &str| {
            let view = &root["bufferViews"][accessor(name)["bufferView"].as_u64().unwrap() as usize];
            let from = view["byteOffset"].as_u64().unwrap() as usize;
            f32::from_le_bytes(bin[from..from + 4].try_into().unwrap())
        };
        assert_eq!((at("_STRETCH"), at("_SQUEEZE")), (0.01, -0.02));
        assert_eq!(root["scenes"][1]["nodes"], json!([0, 2]));
        assert_eq!(root["materials"][1]["name"], "#c8321e");
    }

    #[test]
    fn an_empty_part_is_still_a_file() {
        let empty = Body { name: "none".into(), plastic: Skin::default(), films: Vec::new() };
        let file = glb(&empty, "t", &[]);
        assert_eq!(&file[..4], b"glTF");
        assert_eq!(file.len() % 4, 0);
    }
}
