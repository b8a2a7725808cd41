//! `hazards/light.toml`: daylight, what walls let through, and how much of it reaches a place.

use serde::{Deserialize, Serialize};

use super::Figure;

/// Everything that is known of light.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Optics {
    /// Sunlight.
    pub spectrum: Spectrum,
    /// Clear glass.
    pub glass: Glass,
    /// What walls let through.
    #[serde(rename = "container")]
    pub walls: Vec<Wall>,
    /// How much reaches a place.
    #[serde(rename = "place")]
    pub places: Vec<Daylight>,
    /// Rooms against windows.
    pub room: Room,
    /// What is unsure whatever container and place.
    pub spread: Spread,
    /// Shapes of bottles.
    pub bottle: Shape,
}

/// Photons of sunlight by wavelength.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Spectrum {
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// Width of a bin, nm.
    pub bin_nm: f64,
    /// `[nm, photons / (cm² s nm)]`, rising.
    pub bins: Vec<[f64; 2]>,
    /// Width of the last bin, nm.
    pub last_bin_nm: f64,
}

/// Clear soda-lime glass.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Glass {
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// `a`, `b`, `c` of the refractive index `a + b L² + c / L²`, `L` in micrometres.
    pub index: [f64; 3],
    /// `[nm, extinction coefficient]`, rising.
    pub extinction: Vec<[f64; 2]>,
    /// Thickness of a window pane, `mm`.
    pub window_mm: Figure,
}

/// What a kind of container lets through.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wall {
    /// The kind.
    pub word: Container,
    /// True if it is to be computed from the thickness of clear glass.
    #[serde(default)]
    pub glass: bool,
    /// Parts of the light that get through, `1`; for glass, of what the computation gives.
    pub transmission: Figure,
    /// Usual thickness, `mm`; given for glass.
    #[serde(default)]
    pub wall_mm: Option<Figure>,
    /// Standard deviation of the transmission's logarithm.
    pub sd_ln: f64,
    /// True if it is sold to keep light out.
    pub shades: bool,
}

/// A kind of container, by what its wall does to light.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Container {
    /// Clear or faintly green glass.
    ClearGlass,
    /// Brown glass.
    AmberGlass,
    /// Plastic that hides the level of what is in it.
    OpaquePlastic,
    /// Milky plastic that shows the level.
    NaturalPlastic,
    /// A can or a drum.
    Metal,
    /// A bag or a carton.
    Paper,
    /// A bottle that held food or drink, or looks as if.
    DrinkBottle,
    /// Nobody said.
    Unknown,
}

/// How a cap closes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cap {
    /// It lets gas out.
    Vented,
    /// It lets nothing out.
    Tight,
}

impl Cap {
    /// The word used in the register, on the command line and in answers.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Cap::Vented => "vented",
            Cap::Tight => "tight",
        }
    }

    /// The cap with this word.
    #[must_use]
    pub fn called(word: &str) -> Option<Cap> {
        [Cap::Vented, Cap::Tight].into_iter().find(|cap| cap.word() == word)
    }
}

impl Container {
    /// Every kind.
    pub const ALL: [Container; 8] = [
        Container::ClearGlass,
        Container::AmberGlass,
        Container::OpaquePlastic,
        Container::NaturalPlastic,
        Container::Metal,
        Container::Paper,
        Container::DrinkBottle,
        Container::Unknown,
    ];

    /// The word used in the register, on the command line and in answers.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Container::ClearGlass => "clear-glass",
            Container::AmberGlass => "amber-glass",
            Container::OpaquePlastic => "opaque-plastic",
            Container::NaturalPlastic => "natural-plastic",
            Container::Metal => "metal",
            Container::Paper => "paper",
            Container::DrinkBottle => "drink-bottle",
            Container::Unknown => "unknown",
        }
    }

    /// The kind with this word.
    #[must_use]
    pub fn called(word: &str) -> Option<Container> {
        Self::ALL.into_iter().find(|container| container.word() == word)
    }
}

/// How much daylight reaches a place, darkest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Light {
    /// A closed cupboard.
    Dark,
    /// A room away from the window.
    Dim,
    /// A bright room.
    Bright,
    /// A window sill.
    Sill,
    /// Open sky.
    Outdoors,
}

impl Light {
    /// Every class, darkest first.
    pub const ALL: [Light; 5] = [Light::Dark, Light::Dim, Light::Bright, Light::Sill, Light::Outdoors];

    /// The word used in the register, on the command line and in answers.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Light::Dark => "dark",
            Light::Dim => "dim",
            Light::Bright => "bright",
            Light::Sill => "sill",
            Light::Outdoors => "outdoors",
        }
    }

    /// The class with this word.
    #[must_use]
    pub fn called(word: &str) -> Option<Light> {
        Self::ALL.into_iter().find(|light| light.word() == word)
    }

    /// True if the sun itself shines there, so that its hours can be counted.
    #[must_use]
    pub fn is_sunny(self) -> bool {
        self >= Light::Sill
    }
}

/// The daylight of a class of places.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Daylight {
    /// The class.
    pub word: Light,
    /// What it is meant to be, in words.
    pub says: String,
    /// Brightness of a room, `lx`.
    #[serde(default)]
    pub lux: Option<Figure>,
    /// Hours of full sun a day where the keeper gives none, `h/d`.
    #[serde(default)]
    pub sun_hours: Option<Figure>,
    /// True without a window between.
    #[serde(default)]
    pub open: bool,
    /// Standard deviation of the logarithm of the amount.
    pub sd_ln: f64,
}

/// Daylight in rooms against sunlight behind a window.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Room {
    /// Share of sunlight behind a window for each lux, `1/lx`.
    pub per_lux: Figure,
    /// Hours of such light a day, `h/d`.
    pub hours: Figure,
}

/// What is unsure of every light dose.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Spread {
    /// Standard deviation of the logarithm that shape and surroundings bring, `1`.
    pub geometry: Figure,
}

/// Shapes of bottles.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shape {
    /// Height over width of a bottle that nobody measured, `1`.
    pub slenderness: Figure,
}

/// How light takes a reagent apart.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Photolysis {
    /// `[nm, L / (mol cm)]`, decadic, rising; between points the logarithm is interpolated.
    pub absorption: Vec<[f64; 2]>,
    /// Standard deviation of the absorption's logarithm.
    pub absorption_sd_ln: f64,
    /// Key of the absorption's source.
    pub source: String,
    /// Molecules lost for each photon taken up, `1`, with its relative standard deviation.
    pub quantum_yield: Figure,
}

impl Optics {
    /// What is on file of a container's wall.
    ///
    /// # Panics
    /// Never for a checked catalogue: every kind has its row.
    #[must_use]
    pub fn wall(&self, container: Container) -> &Wall {
        self.walls.iter().find(|wall| wall.word == container).expect("a row for every container")
    }

    /// What is on file of a class of places.
    ///
    /// # Panics
    /// Never for a checked catalogue: every class has its row.
    #[must_use]
    pub fn daylight(&self, light: Light) -> &Daylight {
        self.places.iter().find(|place| place.word == light).expect("a row for every class of places")
    }
}
