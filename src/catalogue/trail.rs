//! Reads a value of TOML into its shape, and knows where it stood when it could not go on.

use std::cell::{Cell, RefCell};

use serde::de::{DeserializeOwned, DeserializeSeed, Deserializer, IntoDeserializer, MapAccess, SeqAccess, Visitor};
use serde::forward_to_deserialize_any;
use toml::Value;
use toml::de::Error;

/// A step to a value: a key of a table, or a row of a list.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Step {
    Key(String),
    Row(usize),
}

pub(super) type Path = Vec<Step>;

/// Why a value has not the shape that is wanted, and where that was seen.
pub(super) struct Stop {
    /// The value that was being read, a table itself where one of its keys is missing.
    pub(super) path: Path,
    /// True if it was not the value but its key.
    pub(super) at_key: bool,
    pub(super) complaint: String,
}

/// Reads a value once, up to its first fault. The words are those of `Value::try_into`.
pub(super) fn read<T: DeserializeOwned>(value: &Value) -> Result<T, Stop> {
    let trail = Trail::default();
    T::deserialize(Place { value, trail: &trail }).map_err(|error| Stop {
        path: trail.way.borrow().iter().map(Mark::step).collect(),
        at_key: trail.at_key.get(),
        complaint: error.message().trim().replace('\n', " "),
    })
}

/// The way to what is being read: longer before a value is read, shorter after it was read without a fault.
#[derive(Default)]
struct Trail<'v> {
    way: RefCell<Vec<Mark<'v>>>,
    at_key: Cell<bool>,
}

/// A step, as long as nobody has asked for it.
enum Mark<'v> {
    Key(&'v str),
    Row(usize),
}

impl Mark<'_> {
    fn step(&self) -> Step {
        match self {
            Mark::Key(key) => Step::Key((*key).to_owned()),
            Mark::Row(row) => Step::Row(*row),
        }
    }
}

#[derive(Clone, Copy)]
struct Place<'v, 't> {
    value: &'v Value,
    trail: &'t Trail<'v>,
}

impl<'de> Deserializer<'de> for Place<'_, '_> {
    type Error = Error;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.value {
            Value::Boolean(told) => visitor.visit_bool(*told),
            Value::Integer(number) => visitor.visit_i64(*number),
            Value::Float(number) => visitor.visit_f64(*number),
            Value::String(text) => visitor.visit_str(text),
            Value::Datetime(moment) => visitor.visit_string(moment.to_string()),
            Value::Array(values) => {
                let mut rows = Rows { left: values.iter().enumerate(), trail: self.trail };
                let read = visitor.visit_seq(&mut rows)?;
                match rows.left.len() {
                    0 => Ok(read),
                    _ => Err(serde::de::Error::invalid_length(values.len(), &"fewer elements in array")),
                }
            }
            Value::Table(table) => visitor.visit_map(Keys { left: table.iter(), value: None, trail: self.trail }),
        }
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_some(self)
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(self, _: &'static str, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        name: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        self.value.clone().deserialize_enum(name, variants, visitor)
    }

    forward_to_deserialize_any! {
        bool u8 u16 u32 u64 i8 i16 i32 i64 f32 f64 char str string unit seq bytes byte_buf map unit_struct struct
        tuple_struct tuple ignored_any identifier
    }
}

struct Rows<'v, 't> {
    left: std::iter::Enumerate<std::slice::Iter<'v, Value>>,
    trail: &'t Trail<'v>,
}

impl<'de> SeqAccess<'de> for Rows<'_, '_> {
    type Error = Error;

    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, Error> {
        let Some((row, value)) = self.left.next() else { return Ok(None) };
        self.trail.way.borrow_mut().push(Mark::Row(row));
        let read = seed.deserialize(Place { value, trail: self.trail })?;
        self.trail.way.borrow_mut().pop();
        Ok(Some(read))
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.left.len())
    }
}

struct Keys<'v, 't> {
    left: toml::map::Iter<'v, String, Value>,
    value: Option<&'v Value>,
    trail: &'t Trail<'v>,
}

impl<'de> MapAccess<'de> for Keys<'_, '_> {
    type Error = Error;

    fn next_key_seed<K: DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, Error> {
        let Some((key, value)) = self.left.next() else { return Ok(None) };
        self.trail.way.borrow_mut().push(Mark::Key(key));
        self.trail.at_key.set(true);
        let read = seed.deserialize(key.as_str().into_deserializer())?;
        self.trail.at_key.set(false);
        self.value = Some(value);
        Ok(Some(read))
    }

    fn next_value_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<T::Value, Error> {
        let Some(value) = self.value.take() else {
            return Err(serde::de::Error::custom("a value without its key"));
        };
        let read = seed.deserialize(Place { value, trail: self.trail })?;
        self.trail.way.borrow_mut().pop();
        Ok(read)
    }
}
