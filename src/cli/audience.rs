//! Whoever reads the results, and may leave before the files are there that were asked for too.

use std::io;

use super::args::{Format, TogetherArguments};
use super::exit::RunError;
use super::interrupt;

/// The reader of the results: a terminal, a file, another program.
#[derive(Debug)]
pub(crate) struct Audience {
    files_are_wanted: bool,
    lost: Option<io::Error>,
}

impl Audience {
    /// Where files are wanted besides, as a page or corrections are, the run goes on for them when
    /// the results cannot be shown any more.
    pub(crate) fn new(files_are_wanted: bool) -> Self {
        Self { files_are_wanted, lost: None }
    }

    /// Shows something, unless nothing can be shown any more.
    ///
    /// An error that it returns ends the run: there is nobody left to do it for.
    pub(crate) fn show(&mut self, show: impl FnOnce() -> io::Result<()>) -> io::Result<()> {
        if self.lost.is_some() {
            return Ok(());
        }
        match show() {
            Err(error) if self.files_are_wanted => {
                self.lost = Some(error);
                Ok(())
            }
            shown => shown,
        }
    }

    /// When all is done: what kept the results from being shown. A reader that has seen enough is
    /// no fault.
    pub(crate) fn end(self) -> io::Result<()> {
        match self.lost {
            Some(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(error),
            _ => Ok(()),
        }
    }
}

/// Shows what came of photos that were read together, and writes its page where one is wanted.
pub(crate) fn give(
    arguments: &TogetherArguments,
    write: impl FnOnce(Format) -> io::Result<()>,
    page: impl FnOnce() -> String,
) -> Result<(), RunError> {
    let mut audience = Audience::new(arguments.report.is_wanted());
    audience.show(|| interrupt::whole(|| write(arguments.format)))?;
    arguments.report.write(arguments.existing, page)?;
    Ok(audience.end()?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_run_goes_on_without_its_reader_only_for_the_sake_of_files() {
        let mut alone = Audience::new(false);
        assert!(alone.show(|| Err(io::ErrorKind::BrokenPipe.into())).is_err());
        for (kind, is_fault) in
            [(io::ErrorKind::BrokenPipe, false), (io::ErrorKind::StorageFull, true)]
        {
            let mut audience = Audience::new(true);
            assert!(audience.show(|| Ok(())).is_ok());
            assert!(audience.show(|| Err(kind.into())).is_ok());
            audience.show(|| panic!("nobody is there")).unwrap();
            assert_eq!(audience.end().is_err(), is_fault, "{kind:?}");
        }
    }
}
