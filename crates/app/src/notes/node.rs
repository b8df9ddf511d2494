//! JSON as it was written: objects in their order, and none with the same name twice.

use std::fmt;

use serde::de::{Deserialize, Deserializer, Error, MapAccess, SeqAccess, Visitor};

/// A value. Of numbers only whole ones have a use here; another is [`Node::Other`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Node {
    /// Nothing.
    Null,
    /// A whole number.
    Number(i64),
    /// A text.
    Text(String),
    /// A list.
    List(Vec<Node>),
    /// An object.
    Map(Vec<(String, Node)>),
    /// Something that no home note holds.
    Other,
}

struct Any;

impl<'de> Visitor<'de> for Any {
    type Value = Node;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("JSON")
    }

    fn visit_bool<E>(self, _: bool) -> Result<Node, E> {
        Ok(Node::Other)
    }

    fn visit_i64<E>(self, n: i64) -> Result<Node, E> {
        Ok(Node::Number(n))
    }

    fn visit_u64<E>(self, n: u64) -> Result<Node, E> {
        Ok(i64::try_from(n).map_or(Node::Other, Node::Number))
    }

    fn visit_f64<E>(self, _: f64) -> Result<Node, E> {
        Ok(Node::Other)
    }

    fn visit_str<E>(self, text: &str) -> Result<Node, E> {
        Ok(Node::Text(text.to_owned()))
    }

    fn visit_unit<E>(self) -> Result<Node, E> {
        Ok(Node::Null)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Node, A::Error> {
        let mut list = Vec::new();
        while let Some(node) = seq.next_element()? {
            list.push(node);
        }
        Ok(Node::List(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Node, A::Error> {
        let mut fields: Vec<(String, Node)> = Vec::new();
        while let Some((name, node)) = map.next_entry::<String, Node>()? {
            // No object of a note has more; so looking for doubles stays cheap.
            if fields.len() >= 32 {
                return Err(A::Error::custom("too many fields"));
            }
            if fields.iter().any(|(known, _)| *known == name) {
                return Err(A::Error::custom("the same name twice"));
            }
            fields.push((name, node));
        }
        Ok(Node::Map(fields))
    }
}

impl<'de> Deserialize<'de> for Node {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Node, D::Error> {
        d.deserialize_any(Any)
    }
}
