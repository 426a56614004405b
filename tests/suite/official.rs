//! Official files: what is told of those at hand, and how they are got from a server.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::Command;
use std::sync::{Arc, Mutex};

use cutspan::definitions::survey::survey;
use cutspan::official::{Entry, GetError, Got, Known, State, catalogue, get, place, verify};
use cutspan::table::digest::sha256;

use crate::support::official_data;

const SURVEY: &str = "nhanes";

/// A made-up official file of two records.
fn content() -> Vec<u8> {
    (0..160_u32).map(|i| (i * 7 % 251) as u8).collect()
}

/// Two records of which the first begins as in a transport file.
fn transport() -> Vec<u8> {
    let mut bytes = b"HEADER RECORD*******".to_vec();
    bytes.resize(160, b' ');
    bytes
}

fn entry(path: &str) -> Entry {
    Entry {
        cycle: "2017-2020".to_owned(),
        name: "P_TEST".to_owned(),
        path: path.to_owned(),
        known: Some(Known { bytes: content().len() as u64, sha256: sha256(&content()) }),
    }
}

/// A server on this machine that keeps what it was asked.
struct Server {
    address: String,
    asked: Arc<Mutex<Vec<String>>>,
}

impl Server {
    fn start() -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let address = format!("http://{}/", listener.local_addr().unwrap());
        let asked = Arc::new(Mutex::new(Vec::new()));
        let log = Arc::clone(&asked);
        std::thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                answer(stream, &log);
            }
        });
        Self { address, asked }
    }

    /// What was asked since the last time: path, and the first byte when it is not 0.
    fn asked(&self) -> Vec<String> {
        std::mem::take(&mut self.asked.lock().unwrap())
    }
}

/// `/good` goes on in the middle, `/whole` always starts anew, `/other` sends as many other bytes, `/transport` a transport file; all else is not there.
fn answer(mut stream: TcpStream, log: &Mutex<Vec<String>>) {
    let mut lines = BufReader::new(stream.try_clone().unwrap()).lines().map_while(Result::ok);
    let path = lines.next().unwrap_or_default().split(' ').nth(1).unwrap_or_default().to_owned();
    let headers: Vec<String> = lines.take_while(|line| !line.is_empty()).collect();
    let range =
        headers.iter().find_map(|line| line.to_lowercase().strip_prefix("range: bytes=").map(str::to_owned));
    let from: usize = range.and_then(|range| range.trim_end_matches('-').parse().ok()).unwrap_or(0);
    log.lock().unwrap().push(if from > 0 { format!("{path} from {from}") } else { path.clone() });
    let good = content();
    let (status, more, body) = match path.as_str() {
        "/good" if from > 0 => {
            let range = format!("Content-Range: bytes {from}-{}/{}\r\n", good.len() - 1, good.len());
            ("206 Partial Content", range, good[from..].to_vec())
        }
        "/good" | "/whole" => ("200 OK", String::new(), good),
        "/transport" => ("200 OK", String::new(), transport()),
        "/other" => ("200 OK", String::new(), vec![0; good.len()]),
        _ => ("404 Not Found", String::new(), b"no such file".to_vec()),
    };
    let head =
        format!("HTTP/1.1 {status}\r\n{more}Content-Length: {}\r\nConnection: close\r\n\r\n", body.len());
    // A client that has enough may hang up.
    let _ = stream.write_all(head.as_bytes()).and_then(|()| stream.write_all(&body));
}

#[test]
fn a_file_is_downloaded_verified_and_then_left_alone() {
    let (server, folder) = (Server::start(), tempfile::tempdir().unwrap());
    let wanted = entry("good");
    let file = place(&wanted, SURVEY, folder.path());
    assert_eq!(get(&wanted, SURVEY, &server.address, folder.path()).unwrap(), Got::Downloaded(file.clone()));
    assert_eq!((fs::read(&file).unwrap(), server.asked()), (content(), vec!["/good".to_owned()]));
    let written = file.metadata().unwrap().modified().unwrap();
    let again = get(&wanted, SURVEY, &server.address, folder.path()).unwrap();
    assert_eq!((again, server.asked()), (Got::AlreadyThere(file.clone()), Vec::new()));
    assert_eq!(file.metadata().unwrap().modified().unwrap(), written);
    assert_eq!(fs::read_dir(file.parent().unwrap()).unwrap().count(), 1, "no part is left");
}

#[test]
fn a_broken_transfer_goes_on_or_starts_anew() {
    let (server, folder) = (Server::start(), tempfile::tempdir().unwrap());
    let begun = |path: &str, bytes: &[u8]| {
        let wanted = entry(path);
        let file = place(&wanted, SURVEY, folder.path());
        let _ = fs::remove_file(&file);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(file.with_extension("xpt.part"), bytes).unwrap();
        get(&wanted, SURVEY, &server.address, folder.path()).unwrap();
        assert_eq!(fs::read(&file).unwrap(), content());
        server.asked()
    };
    assert_eq!(begun("good", &content()[..100]), ["/good from 100"]);
    assert_eq!(begun("good", &[9; 100]), ["/good from 100", "/good"], "the beginning was of another file");
    assert_eq!(begun("whole", &content()[..100]), ["/whole from 100", "/whole"], "a server without ranges");
    assert_eq!(begun("good", &[9; 500]), ["/good"], "longer than the file");
    assert!(begun("good", &content()).is_empty(), "only the renaming was missing");
}

#[test]
fn a_file_of_unknown_sha256_is_fetched_if_it_is_a_transport_file_and_said_to_be_unverified() {
    let (server, folder) = (Server::start(), tempfile::tempdir().unwrap());
    let wanted = |path: &str| Entry { known: None, ..entry(path) };
    let file = place(&wanted("transport"), SURVEY, folder.path());
    let error = get(&wanted("good"), SURVEY, &server.address, folder.path()).unwrap_err();
    assert!(error.to_string().contains("it is no SAS transport file") && !file.exists(), "{error}");
    fs::write(file.with_extension("xpt.part"), [9; 100]).unwrap();
    server.asked();
    let got = get(&wanted("transport"), SURVEY, &server.address, folder.path()).unwrap();
    assert_eq!((got, server.asked()), (Got::Unverified(file.clone()), vec!["/transport".to_owned()]));
    assert_eq!(verify(&wanted("transport"), SURVEY, folder.path()).unwrap(), State::Unknown(file.clone()));
    let again = get(&wanted("transport"), SURVEY, &server.address, folder.path()).unwrap();
    assert_eq!((again, server.asked()), (Got::AlreadyThere(file.clone()), Vec::new()));
    fs::write(&file, "web page").unwrap();
    assert!(matches!(verify(&wanted("transport"), SURVEY, folder.path()).unwrap(), State::Damaged(..)));
}

#[test]
fn every_file_that_the_survey_reads_can_be_had() {
    for cycle in &survey(SURVEY).unwrap().cycles {
        let of_cycle: Vec<&Entry> = catalogue().of_cycle(&cycle.name).collect();
        for name in cycle.files.values() {
            let entry = of_cycle.iter().find(|file| file.name == *name).expect(name);
            assert!(entry.path.ends_with(&format!("/DataFiles/{name}.xpt")), "{}", entry.path);
        }
    }
    let path = |name: &str| catalogue().files.iter().find(|file| file.name == name).unwrap().path.clone();
    assert_eq!([path("P_DIQ"), path("BPQ_B")], ["2017/DataFiles/P_DIQ.xpt", "2001/DataFiles/BPQ_B.xpt"]);
}

#[test]
fn what_is_not_official_is_thrown_away_and_what_is_not_there_is_said() {
    let (server, folder) = (Server::start(), tempfile::tempdir().unwrap());
    let error = get(&entry("other"), SURVEY, &server.address, folder.path()).unwrap_err();
    assert!(
        matches!(error, GetError::Damaged { .. }) && error.to_string().contains("its sha256 is"),
        "{error}"
    );
    let error = get(&entry("gone"), SURVEY, &server.address, folder.path()).unwrap_err();
    assert!(
        error.to_string().contains("/gone: not to be had") && error.to_string().contains("404"),
        "{error}"
    );
    let inside = place(&entry("other"), SURVEY, folder.path());
    assert_eq!(fs::read_dir(inside.parent().unwrap()).unwrap().count(), 0);
    // A damaged file stays until a good one has come.
    fs::write(&inside, "short").unwrap();
    get(&entry("gone"), SURVEY, &server.address, folder.path()).unwrap_err();
    assert_eq!(fs::read(&inside).unwrap(), b"short");
    get(&entry("good"), SURVEY, &server.address, folder.path()).unwrap();
    assert_eq!(fs::read(&inside).unwrap(), content());
}

#[test]
fn a_damaged_file_is_replaced_under_the_name_that_it_has() {
    let (server, folder) = (Server::start(), tempfile::tempdir().unwrap());
    let wanted = entry("good");
    let inside = place(&wanted, SURVEY, folder.path());
    fs::create_dir_all(inside.parent().unwrap()).unwrap();
    for damaged in [inside.with_file_name("P_TEST.XPT"), folder.path().join("P_Test.xpt")] {
        fs::write(&damaged, "short").unwrap();
        let got = get(&wanted, SURVEY, &server.address, folder.path()).unwrap();
        assert_eq!(got, Got::Downloaded(damaged.clone()));
        assert_eq!(verify(&wanted, SURVEY, folder.path()).unwrap(), State::Good(damaged.clone()));
        fs::remove_file(damaged).unwrap();
    }
}

#[test]
fn files_at_hand_are_good_damaged_or_missing() {
    let folder = tempfile::tempdir().unwrap();
    let wanted = entry("good");
    assert_eq!(verify(&wanted, SURVEY, folder.path()).unwrap(), State::Missing);
    let file = folder.path().join("p_test.XPT");
    fs::write(&file, content()).unwrap();
    assert_eq!(verify(&wanted, SURVEY, folder.path()).unwrap(), State::Good(file.clone()));
    let fault = |bytes: &[u8]| {
        fs::write(&file, bytes).unwrap();
        match verify(&wanted, SURVEY, folder.path()).unwrap() {
            State::Damaged(_, fault) => fault,
            other => panic!("{other:?}"),
        }
    };
    assert_eq!(fault(&content()[1..]), "159 bytes, the official file has 160");
    let mut one = content();
    one[80] ^= 1;
    assert!(fault(&one).starts_with("its sha256 is"));
}

/// Exit code and both streams of `cutspan data`.
fn data(arguments: &[&str], folder: &Path) -> (i32, String) {
    let run = Command::new(env!("CARGO_BIN_EXE_cutspan"))
        .arg("data")
        .args(arguments)
        .current_dir(folder)
        .env_remove("CUTSPAN_DATA")
        .output()
        .unwrap();
    let said = [run.stdout, run.stderr].map(|bytes| String::from_utf8(bytes).unwrap()).concat();
    (run.status.code().unwrap(), said)
}

#[test]
fn the_verb_lists_verifies_and_gets() {
    let folder = tempfile::tempdir().unwrap();
    let (code, said) = data(&["list"], folder.path());
    assert!(code == 0 && said.lines().count() == catalogue().cycles().len() + 1, "{said}");
    assert!(said.contains("2017-2020") && said.contains("from memory"), "{said}");
    let (code, said) = data(&["list", "2017-2021"], folder.path());
    assert!(
        code == 2 && said.contains("no files of cycle \"2017-2021\"") && said.contains("2017-2020"),
        "{said}"
    );
    fs::write(folder.path().join("P_INS.XPT"), "web page").unwrap();
    let (code, said) = data(&["verify", "2017-2020", "--data", "."], folder.path());
    assert!(code == 1 && said.contains("P_INS.XPT: 8 bytes, the official file has 205040"), "{said}");
    assert!(
        said.contains("no transport file: 2017-2020 P_HDL") && said.contains("0 good, 1 damaged"),
        "{said}"
    );
    let server = Server::start();
    let (code, said) =
        data(&["get", "2017-2020", "--to", "here", "--address", &server.address], folder.path());
    let asked = server.asked();
    assert_eq!(
        asked.len(),
        catalogue().of_cycle("2017-2020").count(),
        "one failure does not stop the others"
    );
    assert!(code == 2 && said.contains("files could not be had") && said.contains("404"), "{said}");
    assert!(asked.contains(&"/2017/DataFiles/P_INS.xpt".to_owned()), "{asked:?}");
}

#[test]
fn the_official_files_at_hand_are_the_official_ones() {
    let Some(folder) = official_data() else { return };
    let states: Vec<State> =
        catalogue().files.iter().map(|file| verify(file, &catalogue().survey, &folder).unwrap()).collect();
    let good = states.iter().filter(|state| matches!(state, State::Good(_))).count();
    assert!(good > 50, "{good}");
    let damaged: Vec<&State> = states.iter().filter(|state| matches!(state, State::Damaged(..))).collect();
    assert!(damaged.is_empty(), "{damaged:?}");
}
