//! Every number of an answer is one: JSON has no word for another, and its writer would put `null` there without a sound.

use std::fmt::{self, Display};

use serde::ser::{
    Error, Serialize, SerializeMap, SerializeSeq, SerializeStruct, SerializeStructVariant, SerializeTuple,
    SerializeTupleStruct, SerializeTupleVariant, Serializer,
};

/// True if no number in the data is infinite or none.
pub(super) fn is_finite(data: &impl Serialize) -> bool {
    data.serialize(Look).is_ok()
}

/// Goes through the data as a writer does, and writes nothing.
#[derive(Clone, Copy)]
struct Look;

/// A number that is none was met.
#[derive(Debug)]
struct Met;

impl Display for Met {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("a number that is none")
    }
}

impl std::error::Error for Met {}

impl Error for Met {
    fn custom<T: Display>(_: T) -> Self {
        Met
    }
}

macro_rules! fine {
    ($($name:ident: $type:ty;)+) => {
        $(fn $name(self, _: $type) -> Result<(), Met> { Ok(()) })+
    };
}

impl Serializer for Look {
    type Ok = ();
    type Error = Met;
    type SerializeSeq = Look;
    type SerializeTuple = Look;
    type SerializeTupleStruct = Look;
    type SerializeTupleVariant = Look;
    type SerializeMap = Look;
    type SerializeStruct = Look;
    type SerializeStructVariant = Look;

    fine! {
        serialize_bool: bool;
        serialize_i8: i8;
        serialize_i16: i16;
        serialize_i32: i32;
        serialize_i64: i64;
        serialize_u8: u8;
        serialize_u16: u16;
        serialize_u32: u32;
        serialize_u64: u64;
        serialize_char: char;
        serialize_str: &str;
        serialize_bytes: &[u8];
        serialize_unit_struct: &'static str;
    }

    fn serialize_f32(self, value: f32) -> Result<(), Met> {
        self.serialize_f64(f64::from(value))
    }

    fn serialize_f64(self, value: f64) -> Result<(), Met> {
        if value.is_finite() { Ok(()) } else { Err(Met) }
    }

    fn serialize_none(self) -> Result<(), Met> {
        Ok(())
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Result<(), Met> {
        value.serialize(self)
    }

    fn serialize_unit(self) -> Result<(), Met> {
        Ok(())
    }

    fn serialize_unit_variant(self, _: &'static str, _: u32, _: &'static str) -> Result<(), Met> {
        Ok(())
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(self, _: &'static str, value: &T) -> Result<(), Met> {
        value.serialize(self)
    }

    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        _: u32,
        _: &'static str,
        value: &T,
    ) -> Result<(), Met> {
        value.serialize(self)
    }

    fn serialize_seq(self, _: Option<usize>) -> Result<Look, Met> {
        Ok(self)
    }

    fn serialize_tuple(self, _: usize) -> Result<Look, Met> {
        Ok(self)
    }

    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Look, Met> {
        Ok(self)
    }

    fn serialize_tuple_variant(self, _: &'static str, _: u32, _: &'static str, _: usize) -> Result<Look, Met> {
        Ok(self)
    }

    fn serialize_map(self, _: Option<usize>) -> Result<Look, Met> {
        Ok(self)
    }

    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Look, Met> {
        Ok(self)
    }

    fn serialize_struct_variant(self, _: &'static str, _: u32, _: &'static str, _: usize) -> Result<Look, Met> {
        Ok(self)
    }
}

macro_rules! parts {
    ($($of:ident: $part:ident;)+) => {
        $(impl $of for Look {
            type Ok = ();
            type Error = Met;

            fn $part<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Met> {
                value.serialize(*self)
            }

            fn end(self) -> Result<(), Met> {
                Ok(())
            }
        })+
    };
}

parts! {
    SerializeSeq: serialize_element;
    SerializeTuple: serialize_element;
    SerializeTupleStruct: serialize_field;
    SerializeTupleVariant: serialize_field;
}

macro_rules! fields {
    ($($of:ident;)+) => {
        $(impl $of for Look {
            type Ok = ();
            type Error = Met;

            fn serialize_field<T: Serialize + ?Sized>(&mut self, _: &'static str, value: &T) -> Result<(), Met> {
                value.serialize(*self)
            }

            fn end(self) -> Result<(), Met> {
                Ok(())
            }
        })+
    };
}

fields! {
    SerializeStruct;
    SerializeStructVariant;
}

impl SerializeMap for Look {
    type Ok = ();
    type Error = Met;

    fn serialize_key<T: Serialize + ?Sized>(&mut self, _: &T) -> Result<(), Met> {
        Ok(())
    }

    fn serialize_value<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Met> {
        value.serialize(*self)
    }

    fn end(self) -> Result<(), Met> {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use serde::Serialize;

    use super::*;

    #[derive(Serialize)]
    enum Shape {
        Pair(f64, Option<f64>),
        Named { value: f64 },
        One(f64),
    }

    #[test]
    fn a_number_that_is_none_is_met_wherever_it_stands() {
        assert!(is_finite(&(1.0, Some("NaN"), None::<f64>, [f64::MAX, 5e-324])));
        for none in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert!(!is_finite(&none));
            assert!(!is_finite(&vec![Some(1.0), Some(none)]));
            assert!(!is_finite(&BTreeMap::from([("key", none)])));
            assert!(!is_finite(&Shape::Pair(0.0, Some(none))));
            assert!(!is_finite(&Shape::Named { value: none }));
            assert!(!is_finite(&Shape::One(none)));
        }
    }
}
