//! A browser of sorts at a desk with a practice: keeps its cookie, sends its token, reads answers whole.
#![allow(dead_code)]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// The passphrase of the practices that tests make.
pub const PASSPHRASE: &str = "lamp river horse seven";

/// A folder of its own for a test, taken away at the end.
pub struct Folder(pub PathBuf);

impl Folder {
    pub fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("tragion-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(&path).expect("a folder");
        Folder(path)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// A desk, and one browser at it.
pub struct Visitor {
    child: Child,
    pub port: u16,
    pub cookie: String,
    pub token: String,
    /// What the desk printed first.
    pub address: String,
    /// How long it took to print it.
    pub took: Duration,
    pub stderr: Arc<Mutex<String>>,
}

/// What the desk answered.
pub struct Answer {
    pub status: u16,
    /// In lower case.
    pub head: String,
    pub bytes: Vec<u8>,
}

impl Answer {
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.bytes).into_owned()
    }

    pub fn location(&self) -> Option<&str> {
        self.head.lines().find_map(|l| l.strip_prefix("location: "))
    }
}

impl Visitor {
    /// Starts the desk with these arguments; all that it keeps and all its temporary files lie under `home`.
    pub fn start(home: &Path, args: &[&str]) -> Visitor {
        let started = Instant::now();
        let temp = home.join("temp");
        std::fs::create_dir_all(&temp).expect("a folder");
        let passphrase = home.join("passphrase.txt");
        std::fs::write(&passphrase, PASSPHRASE).expect("a file");
        let mut command = Command::new(env!("CARGO_BIN_EXE_tragion"));
        command.args(["desk", "--no-open"]).args(args);
        command.env("XDG_DATA_HOME", home.join("data")).env("HOME", home).env("TMPDIR", &temp);
        if !args.contains(&"--demo") && !args.contains(&"--cabinet") {
            command.env_remove("TRAGION_PASSPHRASE_FILE");
        } else {
            command.env("TRAGION_PASSPHRASE_FILE", &passphrase);
        }
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("the desk starts");
        let stderr = Arc::new(Mutex::new(String::new()));
        let (mut said, heard) = (child.stderr.take().expect("its errors"), stderr.clone());
        std::thread::spawn(move || {
            let mut bytes = [0_u8; 4096];
            while let Ok(n @ 1..) = said.read(&mut bytes) {
                heard.lock().expect("a lock").push_str(&String::from_utf8_lossy(&bytes[..n]));
            }
        });
        let mut line = String::new();
        BufReader::new(child.stdout.take().expect("its output")).read_line(&mut line).expect("an address");
        let took = started.elapsed();
        let rest = line
            .trim()
            .strip_prefix("http://127.0.0.1:")
            .unwrap_or_else(|| panic!("no address: {line:?} {}", stderr.lock().expect("a lock")));
        let (port, end) = rest.split_once('/').expect("a path");
        let (port, address) = (port.parse().expect("a port"), format!("/{end}"));
        let mut me = Visitor { child, port, cookie: String::new(), token: String::new(), address, took, stderr };
        let first = me.get(&me.address.clone());
        me.cookie = first
            .head
            .lines()
            .find_map(|l| l.strip_prefix("set-cookie: "))
            .and_then(|c| c.split(';').next())
            .unwrap_or_default()
            .to_owned();
        let page = me.get("/").text();
        me.token = token_of(&page);
        me
    }

    fn host(&self) -> String {
        format!("host: 127.0.0.1:{}\r\n", self.port)
    }

    /// The headers of this browser's own page.
    pub fn own(&self) -> String {
        format!("{}origin: http://127.0.0.1:{}\r\ncookie: {}\r\n", self.host(), self.port, self.cookie)
    }

    /// Sends a request as it is.
    pub fn raw(&self, request: &[u8]) -> Answer {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).expect("the desk listens");
        stream.set_read_timeout(Some(Duration::from_secs(60))).expect("a timeout");
        // A refusal may come before everything is sent.
        let _ = stream.write_all(request);
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
        let at = bytes.windows(4).position(|w| w == b"\r\n\r\n").unwrap_or(bytes.len());
        let head = String::from_utf8_lossy(&bytes[..at]).to_lowercase();
        let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or(0);
        Answer { status, head, bytes: bytes.get(at + 4..).unwrap_or_default().to_vec() }
    }

    pub fn ask(&self, method: &str, path: &str, headers: &str, body: &[u8]) -> Answer {
        let head =
            format!("{method} {path} HTTP/1.1\r\n{headers}content-length: {}\r\nconnection: close\r\n\r\n", body.len());
        self.raw(&[head.as_bytes(), body].concat())
    }

    pub fn get(&self, path: &str) -> Answer {
        let headers = format!("{}cookie: {}\r\n", self.host(), self.cookie);
        self.ask("GET", path, &headers, b"")
    }

    /// Sends a form as our own page would.
    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let mut form = format!("token={}", self.token);
        for (name, value) in fields {
            form.push_str(&format!("&{name}={}", encoded(value)));
        }
        let headers = format!("{}content-type: application/x-www-form-urlencoded\r\n", self.own());
        self.ask("POST", path, &headers, form.as_bytes())
    }

    /// Sends a form in parts, one of them a file.
    pub fn upload(&self, path: &str, fields: &[(&str, &str)], file: (&str, &str, &[u8])) -> Answer {
        let mut body = Vec::new();
        let mut part = |head: String, value: &[u8]| {
            body.extend_from_slice(format!("--edge\r\ncontent-disposition: form-data; {head}\r\n\r\n").as_bytes());
            body.extend_from_slice(value);
            body.extend_from_slice(b"\r\n");
        };
        part("name=\"token\"".to_owned(), self.token.as_bytes());
        for (name, value) in fields {
            part(format!("name=\"{name}\""), value.as_bytes());
        }
        let (name, file_name, bytes) = file;
        part(format!("name=\"{name}\"; filename=\"{file_name}\"\r\ncontent-type: image/jpeg"), bytes);
        body.extend_from_slice(b"--edge--\r\n");
        let headers = format!("{}content-type: multipart/form-data; boundary=edge\r\n", self.own());
        self.ask("POST", path, &headers, &body)
    }

    /// Ends the desk as a person would end it with a signal; what it wrote to its errors.
    pub fn end(mut self) -> String {
        let _ = self.child.kill();
        let _ = self.child.wait();
        std::thread::sleep(Duration::from_millis(100));
        self.stderr.lock().expect("a lock").clone()
    }
}

impl Drop for Visitor {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The token that a page carries.
pub fn token_of(page: &str) -> String {
    let at = page.split("name=\"token\" content=\"").nth(1).and_then(|rest| rest.split('"').next());
    at.unwrap_or_else(|| panic!("no token on the page: {}", &page[..page.len().min(300)])).to_owned()
}

/// Percent-encoded, as a form sends it.
pub fn encoded(value: &str) -> String {
    let plain = |b: u8| b.is_ascii_alphanumeric() || b"-._".contains(&b);
    value.bytes().map(|b| if plain(b) { char::from(b).to_string() } else { format!("%{b:02X}") }).collect()
}
