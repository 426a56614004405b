//! Text files with the same end of line, whichever system wrote them.

use std::io::{self, Read};

/// A text whose lines all end in one line feed, the last too: only then can the lines of its records be counted.
#[derive(Debug)]
pub(super) struct Newlines<R> {
    inner: R,
    after_return: bool,
    last: u8,
}

impl<R: Read> Newlines<R> {
    pub fn new(inner: R) -> Self {
        Self { inner, after_return: false, last: b'\n' }
    }

    /// Turns `\r\n` and `\r` into `\n`, in place; answers with how many bytes are left.
    fn unify(&mut self, bytes: &mut [u8]) -> usize {
        let mut kept = 0;
        for at in 0..bytes.len() {
            let byte = bytes[at];
            let second_half = byte == b'\n' && self.after_return;
            self.after_return = byte == b'\r';
            if !second_half {
                bytes[kept] = if byte == b'\r' { b'\n' } else { byte };
                kept += 1;
            }
        }
        kept
    }
}

impl<R: Read> Read for Newlines<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        loop {
            let read = self.inner.read(buffer)?;
            if read == 0 {
                let Some(first) = buffer.first_mut().filter(|_| self.last != b'\n') else { return Ok(0) };
                *first = b'\n';
                self.last = b'\n';
                return Ok(1);
            }
            let kept = self.unify(&mut buffer[..read]);
            if kept > 0 {
                self.last = buffer[kept - 1];
                return Ok(kept);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_ends_in_one_line_feed() {
        for (text, expected) in
            [("a\r\nb\r\n", "a\nb\n"), ("a\rb", "a\nb\n"), ("a\n\r\nb", "a\n\nb\n"), ("", "")]
        {
            // One byte at a time, so that a pair is parted.
            for most in [1, 100] {
                let mut got = Vec::new();
                let mut reader = Newlines::new(text.as_bytes());
                let mut buffer = vec![0; most];
                while let Ok(read @ 1..) = reader.read(&mut buffer) {
                    got.extend_from_slice(&buffer[..read]);
                }
                assert_eq!(String::from_utf8(got).unwrap(), expected, "{text:?}");
            }
        }
    }
}
