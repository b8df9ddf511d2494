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

/// A name that no other test of this process takes.
pub fn unique(name: &str) -> String {
    static LAST: std::sync::atomic::AtomicUsize = std::sync::atomic::AtomicUsize::new(0);
    format!("{name}-{}", LAST.fetch_add(1, std::sync::atomic::Ordering::Relaxed))
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
        if !self.0.as_os_str().is_empty() {
            let _ = std::fs::remove_dir_all(&self.0);
        }
    }
}

/// A desk on a free port, as one browser sees it: with its cookie and its token.
pub struct Desk {
    child: Child,
    pub port: u16,
    /// The cookie, as the browser sends it back.
    pub cookie: String,
    /// What every change carries.
    pub token: String,
    /// The address that was printed.
    pub printed: String,
    /// What the program says on standard error, when it is asked.
    stderr: Option<std::process::ChildStderr>,
    /// Where the practice is; taken away at the end, where it is the desk's own.
    folder: Folder,
}

/// What the desk answered.
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: String,
}

/// The passphrase of the tests' practices.
pub const PASSPHRASE: &str = "horse lamp river seven";

impl Desk {
    /// A desk before whose door we stand: there is no practice.
    pub fn start() -> Desk {
        Desk::begin(Folder::new(&unique("desk")), &[], None)
    }

    /// A desk with a practice of its own, unlocked, and this browser inside.
    pub fn inside() -> Desk {
        let folder = Folder::new(&unique("practice"));
        Desk::inside_of(folder)
    }

    /// The same on a folder that may hold a practice from before.
    pub fn inside_of(folder: Folder) -> Desk {
        let file = folder.write("passphrase.txt", PASSPHRASE);
        let mut desk = Desk::begin(folder, &[], Some(&file));
        let path = desk.printed.trim_start_matches(&format!("http://127.0.0.1:{}", desk.port)).to_owned();
        let opened = desk.get(&path);
        assert_eq!(opened.status, 303, "{}", opened.head);
        desk.know();
        desk
    }

    fn begin(folder: Folder, more: &[&str], passphrase: Option<&str>) -> Desk {
        let mut command = program();
        if let Some(file) = passphrase {
            command.env("TRAGION_PASSPHRASE_FILE", file);
        }
        let mut child = command
            .args(["desk", "--no-open", "--today", DAY, "--cabinet", &folder.file("cabinet")])
            .args(more)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the desk starts");
        let mut line = String::new();
        BufReader::new(child.stdout.take().expect("its output")).read_line(&mut line).expect("an address");
        let printed = line.trim().to_owned();
        let port = printed.strip_prefix("http://127.0.0.1:").and_then(|rest| rest.split('/').next());
        let port = port.and_then(|p| p.parse().ok());
        let stderr = child.stderr.take();
        let Some(port) = port else {
            let mut said = String::new();
            let _ = stderr.expect("its errors").read_to_string(&mut said);
            panic!("no address: {line} {said}");
        };
        let mut desk = Desk { child, port, cookie: String::new(), token: String::new(), printed, stderr, folder };
        desk.know();
        desk
    }

    /// Learns cookie and token from a page.
    fn know(&mut self) {
        let page = self.get("/");
        let cookie = page.head.lines().find_map(|l| l.strip_prefix("set-cookie: ")).and_then(|c| c.split(';').next());
        if let Some(cookie) = cookie {
            self.cookie = cookie.trim().to_owned();
        }
        let token = page.body.split("name=\"token\" content=\"").nth(1).and_then(|rest| rest.split('"').next());
        self.token = token.expect("a token").to_owned();
    }

    /// The number of its process.
    pub fn process(&self) -> u32 {
        self.child.id()
    }

    /// The folder of the practice.
    pub fn cabinet(&self) -> PathBuf {
        PathBuf::from(self.folder.file("cabinet"))
    }

    /// Ends the program at once, as a power cut would; the folder stays, and what was said on standard error.
    pub fn kill(mut self) -> (Folder, String) {
        let _ = self.child.kill();
        let _ = self.child.wait();
        let mut said = String::new();
        if let Some(mut stderr) = self.stderr.take() {
            let _ = stderr.read_to_string(&mut said);
        }
        let empty = Folder(PathBuf::new());
        (std::mem::replace(&mut self.folder, empty), said)
    }

    /// The headers of a request from our own page.
    pub fn ours(&self) -> String {
        format!("host: 127.0.0.1:{0}\r\norigin: http://127.0.0.1:{0}\r\n", self.port)
    }

    /// Sends a form in parts from our own page: fields, then files with their names and media types.
    pub fn post_parts(&self, path: &str, fields: &[(&str, &str)], files: &[(&str, &str, &str, &[u8])]) -> Answer {
        let mut body = Vec::new();
        let token = [("token", self.token.as_str())];
        for (name, value) in token.iter().chain(fields) {
            body.extend_from_slice(
                format!("--edge\r\ncontent-disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n").as_bytes(),
            );
        }
        for (name, file, media, bytes) in files {
            let head = format!("content-disposition: form-data; name=\"{name}\"; filename=\"{file}\"");
            body.extend_from_slice(format!("--edge\r\n{head}\r\ncontent-type: {media}\r\n\r\n").as_bytes());
            body.extend_from_slice(bytes);
            body.extend_from_slice(b"\r\n");
        }
        body.extend_from_slice(b"--edge--\r\n");
        let head = format!(
            "POST {path} HTTP/1.1\r\n{}cookie: {}\r\ncontent-type: multipart/form-data; boundary=edge\r\n\
             content-length: {}\r\nconnection: close\r\n\r\n",
            self.ours(),
            self.cookie,
            body.len()
        );
        self.raw(&[head.into_bytes(), body].concat())
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
        let cookie = if self.cookie.is_empty() { String::new() } else { format!("cookie: {}\r\n", self.cookie) };
        self.raw(format!("GET {path} HTTP/1.1\r\n{headers}{cookie}connection: close\r\n\r\n").as_bytes())
    }

    pub fn get(&self, path: &str) -> Answer {
        self.get_as(path, &format!("host: 127.0.0.1:{}\r\n", self.port))
    }

    /// Sends a form from our own page.
    pub fn post(&self, path: &str, form: &str) -> Answer {
        self.post_as(path, form, &self.ours())
    }

    /// Sends a form with cookie and token, and these headers.
    pub fn post_as(&self, path: &str, form: &str, headers: &str) -> Answer {
        let form = format!("token={}&{form}", self.token);
        self.post_bare(path, &form, &format!("{headers}cookie: {}\r\n", self.cookie))
    }

    /// Sends a form with these headers alone.
    pub fn post_bare(&self, path: &str, form: &str, headers: &str) -> Answer {
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
