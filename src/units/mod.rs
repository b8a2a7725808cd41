//! Measured things, their bases, and how people write them; no chemistry.
//!
//! Each quantity is a newtype over a `uom` quantity with constructors and readers named by unit, so that a mass
//! fraction cannot be taken for a volume fraction, though both are plain ratios to the dimension checker.

pub mod date;
pub mod estimate;
pub mod measure;
pub mod parse;
pub mod reading;
pub mod show;
pub mod step;
pub mod strength;
pub mod time;

use uom::si::f64 as si;

macro_rules! quantity {
    ($(#[$meta:meta])* $name:ident($inner:ty) { $($(#[$unit_meta:meta])* $make:ident / $read:ident = $unit:ty;)+ }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $name($inner);

        impl $name {
            $(
                $(#[$unit_meta])*
                #[must_use]
                pub fn $make(value: f64) -> Self {
                    Self(<$inner>::new::<$unit>(value))
                }

                /// The number in that unit.
                #[must_use]
                pub fn $read(self) -> f64 {
                    self.0.get::<$unit>()
                }
            )+
        }
    };
}

quantity! {
    /// A mass.
    Mass(si::Mass) {
        /// From grams.
        g / to_g = uom::si::mass::gram;
    }
}

quantity! {
    /// A volume of liquid, or the volume that a measure holds.
    Volume(si::Volume) {
        /// From millilitres.
        ml / to_ml = uom::si::volume::milliliter;
        /// From litres.
        l / to_l = uom::si::volume::liter;
    }
}

quantity! {
    /// A temperature.
    Temperature(si::ThermodynamicTemperature) {
        /// From degrees Celsius.
        celsius / to_celsius = uom::si::thermodynamic_temperature::degree_celsius;
        /// From kelvin.
        kelvin / to_kelvin = uom::si::thermodynamic_temperature::kelvin;
    }
}

quantity! {
    /// A pressure.
    Pressure(si::Pressure) {
        /// From kilopascals.
        kpa / to_kpa = uom::si::pressure::kilopascal;
        /// From bar.
        bar / to_bar = uom::si::pressure::bar;
    }
}

quantity! {
    /// A length.
    Length(si::Length) {
        /// From millimetres.
        mm / to_mm = uom::si::length::millimeter;
        /// From metres.
        m / to_m = uom::si::length::meter;
    }
}

quantity! {
    /// The mass of a volume of something.
    Density(si::MassDensity) {
        /// From grams per millilitre.
        g_per_ml / to_g_per_ml = uom::si::mass_density::gram_per_cubic_centimeter;
        /// From kilograms per cubic metre.
        kg_per_m3 / to_kg_per_m3 = uom::si::mass_density::kilogram_per_cubic_meter;
    }
}

quantity! {
    /// Mass of the reagent in a mass of the whole (w/w).
    MassFraction(si::Ratio) {
        /// From parts of one.
        fraction / to_fraction = uom::si::ratio::ratio;
        /// From per cent w/w.
        percent / to_percent = uom::si::ratio::percent;
    }
}

quantity! {
    /// Volume of a product in a volume of the whole (v/v).
    VolumeFraction(si::Ratio) {
        /// From parts of one.
        fraction / to_fraction = uom::si::ratio::ratio;
        /// From per cent v/v.
        percent / to_percent = uom::si::ratio::percent;
    }
}

quantity! {
    /// Mass of the reagent in a volume of the whole (w/v).
    Concentration(si::MassConcentration) {
        /// From grams per litre.
        g_per_l / to_g_per_l = uom::si::mass_concentration::gram_per_liter;
    }
}

quantity! {
    /// Amount of substance in a volume of the whole.
    Molarity(si::MolarConcentration) {
        /// From moles per litre.
        mol_per_l / to_mol_per_l = uom::si::molar_concentration::mole_per_liter;
    }
}

quantity! {
    /// The mass of a mole.
    MolarMass(si::MolarMass) {
        /// From grams per mole.
        g_per_mol / to_g_per_mol = uom::si::molar_mass::gram_per_mole;
    }
}

quantity! {
    /// An activation energy.
    MolarEnergy(si::MolarEnergy) {
        /// From kilojoules per mole.
        kj_per_mol / to_kj_per_mol = uom::si::molar_energy::kilojoule_per_mole;
    }
}

quantity! {
    /// A length of time.
    Span(si::Time) {
        /// From days of 24 hours.
        days / to_days = uom::si::time::day;
    }
}

/// Days in the year that rates are given in.
const DAYS_PER_YEAR: f64 = 365.25;

impl Span {
    /// From years of 365.25 days.
    #[must_use]
    pub fn years(value: f64) -> Self {
        Self::days(value * DAYS_PER_YEAR)
    }

    /// The number of years of 365.25 days.
    #[must_use]
    pub fn to_years(self) -> f64 {
        self.to_days() / DAYS_PER_YEAR
    }
}

impl Concentration {
    /// The molar concentration: `c / M`.
    ///
    /// 30.0 g/L of hydrogen peroxide (34.014 g/mol) is 0.8820 mol/L.
    #[must_use]
    pub fn in_moles(self, molar_mass: MolarMass) -> Molarity {
        Molarity::mol_per_l(self.to_g_per_l() / molar_mass.to_g_per_mol())
    }
}

impl Molarity {
    /// The mass concentration: `c M`.
    #[must_use]
    pub fn in_grams(self, molar_mass: MolarMass) -> Concentration {
        Concentration::g_per_l(self.to_mol_per_l() * molar_mass.to_g_per_mol())
    }
}

impl MassFraction {
    /// The mass in a volume of the whole: `w rho`, through `uom`'s own dimension check.
    ///
    /// 3.00 % w/w at 1.00926 g/mL is 30.28 g/L.
    #[must_use]
    pub fn in_volume(self, density: Density) -> Concentration {
        Concentration((self.0 * density.0).into())
    }
}
