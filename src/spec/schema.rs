//! The language as a JSON Schema, for editors: made of the types that read it.
//!
//! The [mirror](super::mirror) says which words there are, what goes in them and what each means;
//! its words of one value say how that is written. A schema sees form only: names that are not
//! there, sizes that make no sense and words that do not go together are told by `check`.
//! It is stricter in one thing: words that a spec may write in any case are lower case here.

use super::lenient::MAY;
use super::mirror::{Shared, Spec};
use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde_json::{Map, Value, json};

/// The JSON Schema (draft 7, which editors read) of a spec, or of a file that specs share by `use`.
pub fn schema(shared: bool) -> Value {
    let title = if shared { "A file that markloft specs share" } else { "A markloft spec" };
    let mut root = if shared { generated::<Shared>() } else { generated::<Spec>() };
    let before = root.clone();
    tidied(&mut root, &before);
    tables(&mut root);
    root["title"] = title.into();
    root
}

fn generated<T: JsonSchema>() -> Value {
    let mut settings = SchemaSettings::draft07();
    settings.inline_subschemas = false;
    settings.into_generator().into_root_schema_for::<T>().to_value()
}

/// Maps: what may be left out is not required, what is unknown is wrong. Choices: what goes with
/// nothing may be a word alone, as `follow: ring`.
fn tidied(schema: &mut Value, root: &Value) {
    match schema {
        Value::Array(items) => items.iter_mut().for_each(|item| tidied(item, root)),
        Value::Object(map) => {
            let required = required(map);
            map.remove("required");
            if !required.is_empty() {
                map.insert("required".to_owned(), required.into());
            }
            if map.get("properties").is_some_and(Value::is_object) {
                map.insert("additionalProperties".to_owned(), false.into());
            }
            if let Some(Value::Array(choices)) = map.get_mut("oneOf") {
                let bare: Vec<&String> = choices.iter().filter_map(|choice| bare(choice, root)).collect();
                if !bare.is_empty() {
                    let words = json!({"type": "string", "enum": bare});
                    choices.push(words);
                }
            }
            map.remove(MAY);
            map.values_mut().for_each(|value| tidied(value, root));
        }
        _ => {}
    }
}

/// The words that a map must have.
fn required(map: &Map<String, Value>) -> Vec<Value> {
    let listed = map.get("required").and_then(Value::as_array).cloned().unwrap_or_default();
    let may = |word: &Value| {
        let value = word.as_str().and_then(|word| map.get("properties")?.get(word));
        value.is_some_and(|value| value.get(MAY).is_some())
    };
    listed.into_iter().filter(|word| !may(word)).collect()
}

/// The word of a choice whose map may be empty.
fn bare<'a>(choice: &'a Value, root: &Value) -> Option<&'a String> {
    let (word, value) = choice.get("properties")?.as_object()?.iter().next()?;
    let map = target(value, root)?.as_object()?;
    (map.contains_key("properties") && required(map).is_empty()).then_some(word)
}

/// What a schema refers to.
fn target<'a>(schema: &Value, root: &'a Value) -> Option<&'a Value> {
    let named = schema.get("$ref").or_else(|| schema.get("allOf")?.get(0)?.get("$ref"))?;
    root.pointer(named.as_str()?.strip_prefix('#')?)
}

/// A marking may be a table of them, whose columns are words of its own.
fn tables(root: &mut Value) {
    let Some(marking) = root.pointer("/definitions/Marking").cloned() else { return };
    let mut table = marking;
    table["description"] = "Markings by the rows of a table; what is said here goes for all rows.".into();
    table["required"] = json!(["table"]);
    let draw = "What they look like; what is missing is told by the columns.";
    table["properties"]["draw"] = json!({"description": draw, "type": ["object", "string"]});
    table["properties"]["table"] = json!({"description": "A CSV file.", "type": "string"});
    root["definitions"]["TableOfMarkings"] = table;
    root["properties"]["markings"]["additionalProperties"] = json!({
        "if": {"required": ["table"]},
        "then": {"$ref": "#/definitions/TableOfMarkings"},
        "else": {"$ref": "#/definitions/Marking"},
    });
}
