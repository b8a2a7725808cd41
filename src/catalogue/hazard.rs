//! What a reagent can do to people and to water, as its file tells it: the entry that the mixture rules work from.

use std::fmt;

use serde::Deserialize;

use super::Form;

/// The `[hazard]` table of a reagent's file.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hazard {
    /// What the percentages of this table count.
    #[serde(default)]
    pub counted_as: Counted,
    /// The classes of the substance; empty for a substance that has none.
    #[serde(default, rename = "class")]
    pub classes: Vec<Classified>,
    /// Doses that harm, one a route; a route without a row is not acutely toxic by this entry.
    #[serde(default)]
    pub toxicity: Vec<Toxicity>,
    /// Routes by which nobody knows whether it is toxic.
    #[serde(default)]
    pub toxicity_unknown: Vec<Route>,
    /// Strengths at and above which the pH of its solution is extreme (2 and below, 11.5 and above).
    #[serde(default)]
    pub extreme_ph: Option<ExtremePh>,
    /// True for an acid, base, aldehyde or the like that harms skin below the limits of the sums.
    #[serde(default)]
    pub acts_alone: bool,
    /// Statements beyond the classes (`EUH031`).
    #[serde(default, rename = "supplement")]
    pub supplements: Vec<Supplement>,
    /// Key in `hazards/sources.toml`: of the entry as a whole, and of a substance without classes.
    pub source: String,
    /// What a reader should know beside it.
    #[serde(default)]
    pub note: Option<String>,
}

/// What a percentage counts, always in weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Counted {
    /// Grams of the reagent's own formula in 100 g.
    #[default]
    Reagent,
    /// Grams of available chlorine in 100 g.
    AvailableChlorine,
}

/// One class of a substance.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Classified {
    /// The class.
    pub class: Class,
    /// The category of the substance itself.
    pub category: Category,
    /// The form that it holds for, where it is one of two.
    #[serde(default)]
    pub form: Option<Form>,
    /// True where the regulation lets the category be worse (its `*`).
    #[serde(default)]
    pub minimum: bool,
    /// Who set it.
    pub set_by: SetBy,
    /// Specific concentration limits, in place of the generic ones.
    #[serde(default, rename = "limit")]
    pub limits: Vec<Limit>,
    /// Multiplier of the aquatic sums.
    #[serde(default)]
    pub m_factor: Option<f64>,
    /// The statement, where the class has several (`H361d`).
    #[serde(default)]
    pub statement: Option<String>,
    /// The effect of a single exposure of category 3: `respiratory` or `drowsiness`.
    #[serde(default)]
    pub effect: Option<Effect>,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// What a reader should know beside it.
    #[serde(default)]
    pub note: Option<String>,
}

/// Who set a class.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SetBy {
    /// The regulation's own list.
    Law,
    /// Suppliers, for themselves.
    Supplier,
}

/// A specific limit: from a percentage up, to below another where it ends.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// The category that a mixture gets.
    pub category: Category,
    /// From this many per cent (included, unless `above`).
    pub from: f64,
    /// True where `from` itself is not included; bands of physical hazards only.
    #[serde(default)]
    pub above: bool,
    /// To below this many per cent; informative, as a worse category takes over there.
    #[serde(default)]
    pub below: Option<f64>,
    /// The rules that it belongs to.
    #[serde(default)]
    pub of: LimitOf,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// The rules that a limit belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LimitOf {
    /// The classification of chemicals.
    #[default]
    Law,
    /// The carriage of dangerous goods, whose tests for oxidisers and flammable liquids are the same.
    Transport,
    /// Taken over from a like substance, which is our judgement.
    Like,
}

/// A dose that harms by one route.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Toxicity {
    /// The route.
    pub route: Route,
    /// `mg/kg` for a dose, `mg/L` for breathed vapour or mist, `ppmV` for gas.
    pub value: f64,
    /// The unit, as the route demands it.
    pub unit: String,
    /// True where the figure stands for a category and not for an experiment.
    #[serde(default)]
    pub converted: bool,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// How a poison enters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Route {
    /// Swallowed.
    Oral,
    /// Through the skin.
    Dermal,
    /// Breathed as a gas.
    Gas,
    /// Breathed as a vapour.
    Vapour,
    /// Breathed as dust or mist.
    Mist,
}

impl Route {
    /// The upper bounds of categories 1 to 4, in the unit of the route.
    #[must_use]
    pub fn bounds(self) -> [f64; 4] {
        match self {
            Route::Oral => [5.0, 50.0, 300.0, 2000.0],
            Route::Dermal => [50.0, 200.0, 1000.0, 2000.0],
            Route::Gas => [100.0, 500.0, 2500.0, 20000.0],
            Route::Vapour => [0.5, 2.0, 10.0, 20.0],
            Route::Mist => [0.05, 0.5, 1.0, 5.0],
        }
    }

    /// The figures that stand for categories 1 to 4 where only the category is known. Source: `ghs-table-3-1-2`.
    #[must_use]
    pub fn converted(self) -> [f64; 4] {
        match self {
            Route::Oral => [0.5, 5.0, 100.0, 500.0],
            Route::Dermal => [5.0, 50.0, 300.0, 1100.0],
            Route::Gas => [10.0, 100.0, 700.0, 4500.0],
            Route::Vapour => [0.05, 0.5, 3.0, 11.0],
            Route::Mist => [0.005, 0.05, 0.5, 1.5],
        }
    }

    /// The unit in which its figures are given.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Route::Oral | Route::Dermal => "mg/kg",
            Route::Gas => "ppmV",
            Route::Vapour | Route::Mist => "mg/L",
        }
    }

    /// The class that doses by this route belong to.
    #[must_use]
    pub fn class(self) -> Class {
        match self {
            Route::Oral => Class::AcuteOral,
            Route::Dermal => Class::AcuteDermal,
            Route::Gas | Route::Vapour | Route::Mist => Class::AcuteInhaled,
        }
    }

    /// How it is said.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Route::Oral => "swallowed",
            Route::Dermal => "on skin",
            Route::Gas => "breathed as gas",
            Route::Vapour => "breathed as vapour",
            Route::Mist => "breathed as dust or mist",
        }
    }
}

impl Toxicity {
    /// The category of the figure: of a converted one that which it stands for, else by the bounds; none above them.
    #[must_use]
    pub fn category(&self) -> Option<Category> {
        let place = if self.converted {
            self.route.converted().iter().position(|figure| *figure == self.value)
        } else {
            self.route.bounds().iter().position(|bound| self.value <= *bound)
        };
        place.map(|place| Category::ACUTE[place])
    }
}

/// From which strength a solution of this alone is extremely acid or alkaline.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExtremePh {
    /// Per cent, in the counting of the table.
    pub from: f64,
    /// The pH there.
    pub ph: f64,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// A statement beyond the classes.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Supplement {
    /// `EUH031`.
    pub statement: String,
    /// From this many per cent (included, unless `above`).
    pub from: f64,
    /// True where `from` itself is not included.
    #[serde(default)]
    pub above: bool,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// What a single exposure of category 3 does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Effect {
    /// Irritates the airways.
    Respiratory,
    /// Makes drowsy or dizzy.
    Drowsiness,
}

/// The hazard classes that the rules know.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[allow(missing_docs, reason = "each is named as the standard names it")]
pub enum Class {
    FlammableLiquid,
    OxidisingLiquid,
    OxidisingSolid,
    CorrosiveToMetals,
    AcuteOral,
    AcuteDermal,
    AcuteInhaled,
    Skin,
    Eye,
    RespiratorySensitiser,
    SkinSensitiser,
    Mutagen,
    Carcinogen,
    Reproduction,
    SingleExposure,
    RepeatedExposure,
    AquaticAcute,
    AquaticChronic,
}

impl Class {
    /// True for what a test of the thing itself decides, and no sum.
    #[must_use]
    pub fn is_physical(self) -> bool {
        self <= Class::CorrosiveToMetals
    }
}

impl fmt::Display for Class {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Class::FlammableLiquid => "flammable liquid",
            Class::OxidisingLiquid => "oxidising liquid",
            Class::OxidisingSolid => "oxidising solid",
            Class::CorrosiveToMetals => "corrosive to metals",
            Class::AcuteOral => "acute toxicity, swallowed",
            Class::AcuteDermal => "acute toxicity, skin contact",
            Class::AcuteInhaled => "acute toxicity, breathed",
            Class::Skin => "skin corrosion or irritation",
            Class::Eye => "eye damage or irritation",
            Class::RespiratorySensitiser => "respiratory sensitiser",
            Class::SkinSensitiser => "skin sensitiser",
            Class::Mutagen => "mutagen",
            Class::Carcinogen => "carcinogen",
            Class::Reproduction => "toxic to reproduction",
            Class::SingleExposure => "organ toxicity, single exposure",
            Class::RepeatedExposure => "organ toxicity, repeated exposure",
            Class::AquaticAcute => "aquatic, acute",
            Class::AquaticChronic => "aquatic, chronic",
        })
    }
}

/// A category of a class, the worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[allow(missing_docs, reason = "each is the figure it bears")]
pub enum Category {
    #[serde(rename = "1")]
    One,
    #[serde(rename = "1A")]
    OneA,
    #[serde(rename = "1B")]
    OneB,
    #[serde(rename = "1C")]
    OneC,
    #[serde(rename = "2")]
    Two,
    #[serde(rename = "3")]
    Three,
    #[serde(rename = "4")]
    Four,
}

impl Category {
    /// The categories of acute toxicity, the worst first.
    pub const ACUTE: [Category; 4] = [Category::One, Category::Two, Category::Three, Category::Four];

    /// True for 1 and its sub-categories.
    #[must_use]
    pub fn is_first(self) -> bool {
        self <= Category::OneC
    }
}

impl fmt::Display for Category {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Category::One => "1",
            Category::OneA => "1A",
            Category::OneB => "1B",
            Category::OneC => "1C",
            Category::Two => "2",
            Category::Three => "3",
            Category::Four => "4",
        })
    }
}
