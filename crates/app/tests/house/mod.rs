//! Shared by the journeys: running the program, and asking the desk over real HTTP.
#![allow(dead_code)]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::Value;

/// The day on which every example is screened.
pub const DAY: &str = "2026-03-01";

/// What a command answered.
pub struct Said {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Said {
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("no JSON: {e}\n{}\n{}", self.out, self.err))
    }
}

/// The folder of the examples.
pub fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples")
}

/// An example's path as an argument.
pub fn example(name: &str) -> String {
    examples().join(name).display().to_string()
}

/// The examples whose names begin so, in order.
pub fn examples_like(folder: &str, beginning: &str) -> Vec<String> {
    let mut found: Vec<String> = std::fs::read_dir(examples().join(folder))
        .expect("the examples")
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .filter(|name| name.starts_with(beginning) && name.ends_with(".toml"))
        .map(|name| if folder.is_empty() { name } else { format!("{folder}/{name}") })
        .collect();
    found.sort();
    found
}

pub fn program() -> Command {
    Command::new(env!("CARGO_BIN_EXE_tragion"))
}

/// Runs the program; a panic or a signal fails the test.
pub fn run(args: &[&str]) -> Said {
    run_with(args, b"")
}

/// Runs the program with something on standard input.
pub fn run_with(args: &[&str], stdin: &[u8]) -> Said {
    let mut child = program()
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    // A program that does not read its input may be gone already.
    let _ = child.stdin.take().expect("its input").write_all(stdin);
    let output = child.wait_with_output().expect("it ends");
    let said = Said {
        code: output.status.code().unwrap_or(-1),
        out: String::from_utf8(output.stdout).expect("UTF-8 on standard output"),
        err: String::from_utf8(output.stderr).expect("UTF-8 on standard error"),
    };
    assert!(!said.err.contains("panicked"), "{args:?}: {}", said.err);
    assert!((0..=3).contains(&said.code), "{args:?} ended with {}: {}", said.code, said.err);
    said
}

/// A folder of its own for a test, taken away at the end.
pub struct Folder(PathBuf);

impl Folder {
    pub fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("tragion-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&path).expect("a folder");
        Folder(path)
    }

    pub fn file(&self, name: &str) -> String {
        self.0.join(name).display().to_string()
    }

    pub fn write(&self, name: &str, text: impl AsRef<[u8]>) -> String {
        std::fs::write(self.0.join(name), text).expect("a file");
        self.file(name)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// A desk on a free port.
pub struct Desk {
    child: Child,
    pub port: u16,
}

/// What the desk answered.
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: String,
}

impl Desk {
    pub fn start() -> Desk {
        let mut child = program()
            .args(["desk", "--no-open", "--today", DAY])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .expect("the desk starts");
        let mut line = String::new();
        BufReader::new(child.stdout.take().expect("its output")).read_line(&mut line).expect("an address");
        let port = line.trim().strip_prefix("http://127.0.0.1:").and_then(|rest| rest.strip_suffix('/'));
        let port = port.and_then(|p| p.parse().ok()).unwrap_or_else(|| panic!("no address: {line}"));
        Desk { child, port }
    }

    /// Sends a request as it is.
    pub fn raw(&self, request: &[u8]) -> Answer {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).expect("the desk listens");
        stream.set_read_timeout(Some(Duration::from_secs(30))).expect("a timeout");
        stream.write_all(request).expect("a request is taken");
        let mut bytes = Vec::new();
        stream.read_to_end(&mut bytes).expect("an answer");
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
        let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or(0);
        Answer { status, head: head.to_lowercase(), body: body.to_owned() }
    }

    pub fn get_as(&self, path: &str, headers: &str) -> Answer {
        self.raw(format!("GET {path} HTTP/1.1\r\n{headers}connection: close\r\n\r\n").as_bytes())
    }

    pub fn get(&self, path: &str) -> Answer {
        self.get_as(path, &format!("host: 127.0.0.1:{}\r\n", self.port))
    }

    /// Sends a form from our own page.
    pub fn post(&self, path: &str, form: &str) -> Answer {
        self.post_as(path, form, &format!("host: 127.0.0.1:{0}\r\norigin: http://127.0.0.1:{0}\r\n", self.port))
    }

    pub fn post_as(&self, path: &str, form: &str, headers: &str) -> Answer {
        let length = form.len();
        let media = "content-type: application/x-www-form-urlencoded\r\n";
        let head =
            format!("POST {path} HTTP/1.1\r\n{headers}{media}content-length: {length}\r\nconnection: close\r\n\r\n");
        self.raw(format!("{head}{form}").as_bytes())
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
