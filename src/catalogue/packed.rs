//! The shipped texts as the build packs them: the tables of a TOML file without its text, read several times faster.
//!
//! A value is a byte that says what it is, then what it holds: a text and a key their length and UTF-8, a whole number and a
//! fraction eight bytes, a list the count of its values, a table the count of its keys, each with its value. Counts are four
//! bytes; all is little-endian. `src/build.rs` writes it. It is part of the program and read by the program that it is part
//! of, so that it needs no version; a test holds it against the texts.

use serde::de::value::{Error, StrDeserializer};
use serde::de::{
    DeserializeSeed, Deserializer, EnumAccess, Error as _, IntoDeserializer, MapAccess, SeqAccess, VariantAccess,
    Visitor,
};
use serde::{Deserialize, forward_to_deserialize_any};

/// What a byte says of the value behind it.
const TEXT: u8 = 0;
const WHOLE: u8 = 1;
const FRACTION: u8 = 2;
const NO: u8 = 3;
const YES: u8 = 4;
const LIST: u8 = 5;
const TABLE: u8 = 6;

/// Reads a packed file.
///
/// # Errors
/// For bytes that no build of this program packed, or that do not have the shape that is asked for.
pub(super) fn read<'de, T: Deserialize<'de>>(bytes: &'de [u8]) -> Result<T, Error> {
    let mut rest = Rest { bytes };
    let value = T::deserialize(&mut rest)?;
    if rest.bytes.is_empty() { Ok(value) } else { Err(Error::custom("bytes are left over")) }
}

/// What is still to be read.
struct Rest<'de> {
    bytes: &'de [u8],
}

impl<'de> Rest<'de> {
    fn take(&mut self, count: usize) -> Result<&'de [u8], Error> {
        let (taken, rest) = self.bytes.split_at_checked(count).ok_or_else(|| Error::custom("it ends too soon"))?;
        self.bytes = rest;
        Ok(taken)
    }

    fn eight(&mut self) -> Result<[u8; 8], Error> {
        self.take(8)?.try_into().map_err(Error::custom)
    }

    fn count(&mut self) -> Result<usize, Error> {
        let four: [u8; 4] = self.take(4)?.try_into().map_err(Error::custom)?;
        usize::try_from(u32::from_le_bytes(four)).map_err(Error::custom)
    }

    fn text(&mut self) -> Result<&'de str, Error> {
        let count = self.count()?;
        std::str::from_utf8(self.take(count)?).map_err(Error::custom)
    }

    fn kind(&mut self) -> Result<u8, Error> {
        Ok(self.take(1)?[0])
    }
}

impl<'de> Deserializer<'de> for &mut Rest<'de> {
    type Error = Error;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.kind()? {
            TEXT => visitor.visit_borrowed_str(self.text()?),
            WHOLE => visitor.visit_i64(i64::from_le_bytes(self.eight()?)),
            FRACTION => visitor.visit_f64(f64::from_le_bytes(self.eight()?)),
            NO => visitor.visit_bool(false),
            YES => visitor.visit_bool(true),
            LIST => {
                let left = self.count()?;
                visitor.visit_seq(Left { rest: self, left })
            }
            TABLE => {
                let left = self.count()?;
                visitor.visit_map(Left { rest: self, left })
            }
            other => Err(Error::custom(format!("no value begins with {other}"))),
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
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        match self.kind()? {
            TEXT => visitor.visit_enum(self.text()?.into_deserializer()),
            TABLE if self.count()? == 1 => visitor.visit_enum(Choice { rest: self }),
            _ => Err(Error::custom("a word is wanted, or a table with one key")),
        }
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf unit unit_struct seq tuple
        tuple_struct map struct identifier ignored_any
    }
}

/// The values of a list or a table that are still to be read.
struct Left<'r, 'de> {
    rest: &'r mut Rest<'de>,
    left: usize,
}

impl<'de> SeqAccess<'de> for Left<'_, 'de> {
    type Error = Error;

    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, Error> {
        let Some(left) = self.left.checked_sub(1) else { return Ok(None) };
        self.left = left;
        seed.deserialize(&mut *self.rest).map(Some)
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.left)
    }
}

impl<'de> MapAccess<'de> for Left<'_, 'de> {
    type Error = Error;

    fn next_key_seed<K: DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, Error> {
        let Some(left) = self.left.checked_sub(1) else { return Ok(None) };
        self.left = left;
        seed.deserialize(serde::de::value::BorrowedStrDeserializer::new(self.rest.text()?)).map(Some)
    }

    fn next_value_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<T::Value, Error> {
        seed.deserialize(&mut *self.rest)
    }
}

/// A choice that holds something: a table whose one key names it.
struct Choice<'r, 'de> {
    rest: &'r mut Rest<'de>,
}

impl<'de> EnumAccess<'de> for Choice<'_, 'de> {
    type Error = Error;
    type Variant = Self;

    fn variant_seed<T: DeserializeSeed<'de>>(self, seed: T) -> Result<(T::Value, Self), Error> {
        let name: StrDeserializer<'de, Error> = self.rest.text()?.into_deserializer();
        Ok((seed.deserialize(name)?, self))
    }
}

impl<'de> VariantAccess<'de> for Choice<'_, 'de> {
    type Error = Error;

    fn unit_variant(self) -> Result<(), Error> {
        Err(Error::custom("this one holds nothing"))
    }

    fn newtype_variant_seed<T: DeserializeSeed<'de>>(self, seed: T) -> Result<T::Value, Error> {
        seed.deserialize(self.rest)
    }

    fn tuple_variant<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, Error> {
        self.rest.deserialize_any(visitor)
    }

    fn struct_variant<V: Visitor<'de>>(self, _: &'static [&'static str], visitor: V) -> Result<V::Value, Error> {
        self.rest.deserialize_any(visitor)
    }
}
