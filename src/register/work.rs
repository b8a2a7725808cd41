//! Long work: how far it has come, and whether the keeper wants it to end.

use std::fmt::Debug;
use std::sync::Arc;

use super::StoreError;

/// Who is told how far long work has come.
pub trait Watcher: Debug + Send + Sync {
    /// So many things begin to be done; 0 if nobody knows how many.
    fn begun(&self, what: &'static str, all: usize);
    /// So many of them are done.
    fn came(&self, done: usize);
    /// They are done, or were given up.
    fn ended(&self);
    /// True once the work is to end.
    fn is_stopped(&self) -> bool;
}

/// Long work as a command sees it; by itself nobody watches.
#[derive(Debug, Clone, Default)]
pub struct Work(Option<Arc<dyn Watcher>>);

impl Work {
    /// Work that somebody watches.
    #[must_use]
    pub fn watched(watcher: Arc<dyn Watcher>) -> Work {
        Work(Some(watcher))
    }

    /// True once it is to end.
    #[must_use]
    pub fn is_stopped(&self) -> bool {
        self.0.as_ref().is_some_and(|watcher| watcher.is_stopped())
    }

    /// The things one after the other, each told as done when the next is asked for.
    ///
    /// # Errors
    /// Instead of the next thing [`StoreError::Interrupted`], once the work is to end.
    pub fn over<I>(&self, what: &'static str, things: I) -> Over<I::IntoIter>
    where
        I: IntoIterator,
        I::IntoIter: ExactSizeIterator,
    {
        let things = things.into_iter();
        Over { steps: self.steps(what, things.len()), things }
    }

    /// So many steps of work that is no walk over things.
    pub fn steps(&self, what: &'static str, all: usize) -> Steps {
        if let Some(watcher) = &self.0 {
            watcher.begun(what, all);
        }
        Steps { work: self.clone(), done: 0 }
    }

    /// One thing of which nobody knows how long it takes.
    pub fn at<T>(&self, what: &'static str, thing: impl FnOnce() -> T) -> T {
        let Some(watcher) = &self.0 else { return thing() };
        watcher.begun(what, 0);
        let done = thing();
        watcher.ended();
        done
    }
}

/// Steps that are being taken.
#[derive(Debug)]
pub struct Steps {
    work: Work,
    done: usize,
}

impl Steps {
    /// One step is about to be taken.
    ///
    /// # Errors
    /// [`StoreError::Interrupted`], once the work is to end.
    pub fn one(&mut self) -> Result<(), StoreError> {
        if let Some(watcher) = &self.work.0 {
            if watcher.is_stopped() {
                return Err(StoreError::Interrupted);
            }
            watcher.came(self.done);
            self.done += 1;
        }
        Ok(())
    }
}

impl Drop for Steps {
    fn drop(&mut self) {
        if let Some(watcher) = &self.work.0 {
            watcher.ended();
        }
    }
}

/// Things that are being done.
#[derive(Debug)]
pub struct Over<I> {
    steps: Steps,
    things: I,
}

impl<I: Iterator> Iterator for Over<I> {
    type Item = Result<I::Item, StoreError>;

    fn next(&mut self) -> Option<Self::Item> {
        match self.steps.one() {
            Ok(()) => self.things.next().map(Ok),
            Err(error) => Some(Err(error)),
        }
    }
}
