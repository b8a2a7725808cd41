//! Numbers that are compared with limits: exact fractions, so that a strength on its limit is on it.

use std::fmt;
use std::ops::{Add, Div, Mul};

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{FromPrimitive, One, Signed, ToPrimitive, Zero};

use crate::units::show::{plain, significant};

/// Significant figures that a strength keeps: more than any test has, fewer than binary arithmetic blurs.
const FIGURES: usize = 9;

/// Figures with which a number is printed that has no end, and up to which one that has an end is printed whole.
const SHOWN: usize = 4;
const SHOWN_WHOLE: usize = 6;

/// A decimal number as a fraction of whole numbers.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Exact(BigRational);

impl Exact {
    /// The decimal of nine significant figures next to a number: `0.07 × 100` is 7, as it was typed.
    ///
    /// # Panics
    /// For what is no number, or infinite: strengths are checked when they are read.
    #[must_use]
    pub fn of(value: f64) -> Self {
        assert!(value.is_finite(), "a strength is a number");
        let text = format!("{value:.*e}", FIGURES - 1);
        let (digits, power) = text.split_once('e').expect("the form of `e` has a power");
        let power: i32 = power.parse::<i32>().expect("a power of ten") - (FIGURES as i32 - 1);
        let digits: BigInt = digits.replace('.', "").parse().expect("digits");
        let ten = BigRational::from_integer(BigInt::from_u8(10).expect("ten"));
        Exact(BigRational::from_integer(digits) * ten.pow(power))
    }

    /// Nothing.
    #[must_use]
    pub fn zero() -> Self {
        Exact(BigRational::zero())
    }

    /// One.
    #[must_use]
    pub fn one() -> Self {
        Exact(BigRational::one())
    }

    /// True for nothing and less.
    #[must_use]
    pub fn is_none(&self) -> bool {
        !self.0.is_positive()
    }

    /// The nearest binary number, for printing.
    #[must_use]
    pub fn to_f64(&self) -> f64 {
        self.0.to_f64().unwrap_or(f64::INFINITY)
    }
}

/// A number just off its limit must not look as if it were on it: 34.999 is printed as it is, a third as 0.3333.
impl fmt::Display for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let value = self.to_f64();
        let text = format!("{value:.*e}", FIGURES - 1);
        let figures = text.split_once('e').map_or("", |(figures, _)| figures);
        let figures =
            figures.trim_start_matches('-').trim_end_matches('0').chars().filter(char::is_ascii_digit).count();
        if !(SHOWN..=SHOWN_WHOLE).contains(&figures) {
            return f.write_str(&plain(value));
        }
        let text = significant(value, i32::try_from(figures).unwrap_or(4));
        f.write_str(&text)
    }
}

macro_rules! arithmetic {
    ($($trait:ident $method:ident $sign:tt;)+) => {
        $(
            impl $trait for &Exact {
                type Output = Exact;
                fn $method(self, other: &Exact) -> Exact {
                    Exact(&self.0 $sign &other.0)
                }
            }
        )+
    };
}

arithmetic! {
    Add add +;
    Mul mul *;
    Div div /;
}

impl std::iter::Sum for Exact {
    fn sum<I: Iterator<Item = Exact>>(parts: I) -> Exact {
        parts.fold(Exact::zero(), |sum, part| &sum + &part)
    }
}
