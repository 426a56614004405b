//! What the command line says: answers on standard output, cautions on standard error. Every verb speaks here.

use std::fmt::Display;
use std::io::{self, ErrorKind, Write};

use anyhow::{Context, Result};

/// Writes an answer to standard output. That nobody reads on (`cutspan list indices | head`) is no fault and changes no exit
/// code; that it cannot be written is one.
pub fn say(text: impl AsRef<[u8]>) -> Result<()> {
    written(&mut io::stdout().lock(), text.as_ref())
        .context("the answer cannot be written to standard output")
}

fn written(out: &mut impl Write, text: &[u8]) -> io::Result<()> {
    match out.write_all(text).and_then(|()| out.flush()) {
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
        done => done,
    }
}

/// How many columns the terminal has that answers go to; `None` where they go into a file or to another program.
pub fn columns() -> Option<usize> {
    terminal_size::terminal_size_of(io::stdout()).map(|(width, _)| usize::from(width.0))
}

/// Writes a line to standard error. Where that fails there is no place left to say so.
pub fn tell(line: impl Display) {
    let _ = writeln!(io::stderr().lock(), "{line}");
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A place that takes nothing, and why.
    struct Shut(ErrorKind);

    impl Write for Shut {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(self.0.into())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn a_reader_who_left_is_no_fault_and_a_full_disk_is() {
        assert!(written(&mut Shut(ErrorKind::BrokenPipe), b"words").is_ok());
        assert!(written(&mut Shut(ErrorKind::StorageFull), b"words").is_err());
        let mut out = Vec::new();
        written(&mut out, b"words").expect("room");
        assert_eq!(out, b"words");
    }
}
