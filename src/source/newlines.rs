//! Text files with the same end of line, whichever system wrote them.

use std::io::{self, Read};

/// A text whose lines all end in one line feed, the last too: only then can the lines of its records be counted. An empty
/// line follows, so that a reader of records who has read that too has missed the end of the last one.
#[derive(Debug)]
pub(super) struct Newlines<R> {
    inner: R,
    after_return: bool,
    last: u8,
    /// Line feeds that are still to follow; known when the text has ended.
    to_follow: Option<u8>,
    /// Bytes given out.
    given: u64,
}

impl<R: Read> Newlines<R> {
    pub fn new(inner: R) -> Self {
        Self { inner, after_return: false, last: b'\n', to_follow: None, given: 0 }
    }

    /// Whether so many bytes are all there is, the empty line included.
    pub fn is_all(&self, bytes: u64) -> bool {
        self.to_follow == Some(0) && self.given == bytes
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

    /// Gives one of the line feeds behind the text, as long as there are any.
    fn follow(&mut self, buffer: &mut [u8]) -> usize {
        let left = self.to_follow.unwrap_or(if self.last == b'\n' { 1 } else { 2 });
        let now = left.min(u8::from(!buffer.is_empty()));
        buffer[..usize::from(now)].fill(b'\n');
        self.to_follow = Some(left - now);
        self.given += u64::from(now);
        usize::from(now)
    }
}

impl<R: Read> Read for Newlines<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        loop {
            let read = self.inner.read(buffer)?;
            if read == 0 {
                return Ok(self.follow(buffer));
            }
            let kept = self.unify(&mut buffer[..read]);
            if kept > 0 {
                self.last = buffer[kept - 1];
                self.given += kept as u64;
                return Ok(kept);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_ends_in_one_line_feed_and_an_empty_one_follows() {
        for (text, expected) in
            [("a\r\nb\r\n", "a\nb\n\n"), ("a\rb", "a\nb\n\n"), ("a\n\r\nb", "a\n\nb\n\n"), ("", "\n")]
        {
            // One byte at a time, so that a pair is parted.
            for most in [1, 100] {
                let mut got = Vec::new();
                let mut reader = Newlines::new(text.as_bytes());
                let mut buffer = vec![0; most];
                while let Ok(read @ 1..) = reader.read(&mut buffer) {
                    assert!(!reader.is_all(got.len() as u64), "{text:?}");
                    got.extend_from_slice(&buffer[..read]);
                }
                assert!(reader.is_all(got.len() as u64), "{text:?}");
                assert_eq!(String::from_utf8(got).unwrap(), expected, "{text:?}");
            }
        }
    }
}
