//! A keeper's own reagents: the same file as a shipped one, read beside them, every fault told at once; and a keeper's own
//! dips beside the shipped book.

use toml::Value;

use super::probe::{Probe, shown};
use super::{Catalogue, CatalogueError, Dip, Reagent, check, problem};

impl Catalogue {
    /// The shipped catalogue with a keeper's own reagents beside it, each text with the name of its file.
    ///
    /// # Errors
    /// The first fault of the first file that has one.
    pub fn with_own(own: &[(String, String)]) -> Result<Catalogue, CatalogueError> {
        let shipped = Catalogue::shipped()?;
        let mut reagents: Vec<Reagent> = Vec::new();
        for (file, text) in own {
            if let Some(first) = shipped.faults(file, text).into_iter().next() {
                return Err(first);
            }
            let reagent: Reagent = super::parse((file, text))?;
            if reagents.iter().any(|other| other.code == reagent.code) {
                let taken = format!("`{}` is taken by another file of yours", reagent.code);
                return Err(problem(file, "code", taken));
            }
            reagents.push(reagent);
        }
        let mut all = shipped.by_key().clone();
        all.extend(reagents.into_iter().map(|reagent| (reagent.key.clone(), reagent)));
        Ok(Catalogue { reagents: all.into(), ..Catalogue::default() })
    }

    /// The same reagents with a keeper's dips: each in the place of the one with its key, a new one behind the others. The
    /// rest is read again from the shipped files when it is asked for.
    #[must_use]
    pub fn with_dips(&self, own: Vec<Dip>) -> Catalogue {
        let mut book = self.shipped_dips().to_vec();
        for dip in own {
            match book.iter_mut().find(|other| other.key == dip.key) {
                Some(place) => *place = dip,
                None => book.push(dip),
            }
        }
        Catalogue { reagents: self.reagents.clone(), book: Some(book), ..Catalogue::default() }
    }

    /// What is wrong with a dip of the keeper's own, by the rules of the shipped book.
    ///
    /// # Errors
    /// The first breach: an unknown reagent or source, a time or a figure out of its range, a list without a line.
    pub fn dip_fits(&self, dip: &Dip) -> Result<(), CatalogueError> {
        check::dip("the register", dip, self.by_key(), self.every_source())
    }

    /// Everything that is wrong with a keeper's file: its shape key by key, and the values of whatever has its shape.
    #[must_use]
    pub fn faults(&self, file: &str, text: &str) -> Vec<CatalogueError> {
        let table: toml::Table = match super::parse((file, text)) {
            Ok(table) => table,
            Err(error) => return vec![error],
        };
        let probe = Probe::of::<Reagent>(Value::Table(table));
        let mut faults: Vec<CatalogueError> =
            probe.faults.iter().map(|(path, what)| problem(file, &shown(path), what.clone())).collect();
        if let Ok(reagent) = probe.value.clone().try_into::<Reagent>() {
            faults.extend(self.values(file, &reagent).into_iter().filter(|fault| !probe.explains(fault)));
        }
        faults
    }

    fn values(&self, file: &str, reagent: &Reagent) -> Vec<CatalogueError> {
        let mut faults = check::reagent(file, reagent, self.every_source());
        faults.extend(check::named(file, reagent, self.statements(), self.elements()));
        if self.by_key().contains_key(&reagent.key) {
            faults.push(problem(file, "key", format!("`{}` is a reagent of the program's own", reagent.key)));
        }
        if let Some(other) = self.reagents().find(|other| other.code == reagent.code && other.key != reagent.key) {
            faults.push(problem(file, "code", format!("`{}` is taken by `{}`", reagent.code, other.key)));
        }
        faults.extend(check::cared_for(
            file,
            reagent,
            self.apart(),
            self.care_texts(),
            self.disposal(),
            self.every_source(),
        ));
        for other in reagent.taken_for.iter().filter_map(|taken| taken.reagent.as_ref()) {
            if !self.by_key().contains_key(other) {
                faults.push(problem(file, "taken_for.reagent", format!("no reagent `{other}`")));
            }
        }
        faults
    }
}
