//! A JSON value as text for people and scripts alike: indented, numbers' arrays on one line.
//!
//! Left out: what is in it.

use serde_json::Value;

/// Two spaces a level; an array without objects or texts in it stays on one line.
pub fn pretty(value: &Value, level: usize, out: &mut String) {
    let (open, close, lines): (char, char, Vec<(String, &Value)>) = match value {
        Value::Object(map) if !map.is_empty() => {
            let key = |(key, value)| (format!("{}: ", Value::from(key as &str)), value);
            ('{', '}', map.iter().map(|(k, v)| key((k.as_str(), v))).collect())
        }
        Value::Array(items) if !items.is_empty() && !items.iter().all(only_numbers) => {
            ('[', ']', items.iter().map(|item| (String::new(), item)).collect())
        }
        flat => {
            *out += &flat.to_string();
            return;
        }
    };
    out.push(open);
    for (k, (key, item)) in lines.into_iter().enumerate() {
        *out += if k == 0 { "\n" } else { ",\n" };
        *out += &"  ".repeat(level + 1);
        *out += &key;
        pretty(item, level + 1, out);
    }
    out.push('\n');
    *out += &"  ".repeat(level);
    out.push(close);
}

fn only_numbers(value: &Value) -> bool {
    match value {
        Value::Number(_) => true,
        Value::Array(items) => items.iter().all(only_numbers),
        _ => false,
    }
}
