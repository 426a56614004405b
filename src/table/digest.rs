//! What a file or a text is recognised by: its SHA-256, in lower-case hexadecimal digits.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use sha2::{Digest, Sha256};

/// Bytes that are read at a time.
const READ_SIZE: usize = 1 << 16;

#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}

/// The SHA-256 of a file of any size, and how many bytes it has.
pub fn sha256_of_file(path: &Path) -> io::Result<(String, u64)> {
    let mut file = File::open(path)?;
    let (mut hash, mut bytes) = (Sha256::new(), 0);
    let mut buffer = vec![0; READ_SIZE];
    loop {
        match file.read(&mut buffer)? {
            0 => return Ok((hexadecimal(&hash.finalize()), bytes)),
            read => {
                hash.update(&buffer[..read]);
                bytes += read as u64;
            }
        }
    }
}

#[must_use]
pub fn hexadecimal(bytes: &[u8]) -> String {
    let digit = |nibble: u8| char::from_digit(u32::from(nibble), 16).unwrap_or_default();
    bytes.iter().flat_map(|byte| [digit(byte >> 4), digit(byte & 15)]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_and_a_file_have_the_published_digest() {
        // published: the first example of FIPS 180-4
        let want = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(sha256(b"abc"), want);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("abc.csv");
        std::fs::write(&path, "abc").unwrap();
        assert_eq!(sha256_of_file(&path).unwrap(), (want.to_owned(), 3));
        let long = vec![7; 2 * READ_SIZE + 1];
        std::fs::write(&path, &long).unwrap();
        assert_eq!(sha256_of_file(&path).unwrap(), (sha256(&long), long.len() as u64));
    }
}
