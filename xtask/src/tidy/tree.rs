//! The files of the project: those that git keeps or would keep, or all of a folder that git does not know.

use std::io;
use std::path::Path;
use std::process::Command;

/// A file with its text; empty text for one that is not UTF-8.
pub struct File {
    /// Its path from the root, with `/`.
    pub path: String,
    /// Its text.
    pub text: String,
}

/// All files of the project.
pub struct Tree {
    /// In the order of their paths.
    pub files: Vec<File>,
}

impl Tree {
    /// Reads the tree at `root`.
    pub fn read(root: &Path) -> io::Result<Tree> {
        let mut paths = match listed_by_git(root) {
            Some(paths) => paths,
            None => {
                let mut paths = Vec::new();
                walk(root, root, &mut paths)?;
                paths
            }
        };
        paths.sort();
        paths.dedup();
        let mut files = Vec::new();
        for path in paths {
            // A file that git lists and that has just been removed is no file.
            let Ok(bytes) = std::fs::read(root.join(&path)) else { continue };
            files.push(File { path, text: String::from_utf8(bytes).unwrap_or_default() });
        }
        Ok(Tree { files })
    }

    /// The file at this path.
    pub fn file(&self, path: &str) -> Option<&File> {
        self.files.iter().find(|f| f.path == path)
    }

    /// Files under a folder (`""`: all) whose name ends so.
    pub fn under<'a>(&'a self, folder: &'a str, ending: &'a str) -> impl Iterator<Item = &'a File> {
        self.files.iter().filter(move |f| f.path.starts_with(folder) && f.path.ends_with(ending))
    }

    /// The crates: the folder of every manifest but the root's, with the manifest.
    pub fn manifests(&self) -> impl Iterator<Item = (&str, &File)> {
        self.files.iter().filter_map(|f| Some((f.path.strip_suffix("/Cargo.toml")?, f)))
    }

    /// A tree made of these files.
    #[cfg(test)]
    pub fn of(files: &[(&str, &str)]) -> Tree {
        Tree { files: files.iter().map(|(p, t)| File { path: (*p).to_owned(), text: (*t).to_owned() }).collect() }
    }
}

fn listed_by_git(root: &Path) -> Option<Vec<String>> {
    if !root.join(".git").exists() {
        return None;
    }
    let output = Command::new("git")
        .arg("-C")
        .arg(root)
        .args(["ls-files", "-z", "--cached", "--others", "--exclude-standard"])
        .output()
        .ok()?;
    let text = String::from_utf8(output.stdout).ok()?;
    (output.status.success() && !text.is_empty())
        .then(|| text.split('\0').filter(|p| !p.is_empty()).map(str::to_owned).collect())
}

fn walk(root: &Path, folder: &Path, paths: &mut Vec<String>) -> io::Result<()> {
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        let name = path.file_name().and_then(|n| n.to_str()).unwrap_or_default();
        if path.is_dir() {
            if !(name.starts_with("target") || matches!(name, ".git" | ".venv" | "node_modules" | "shots")) {
                walk(root, &path, paths)?;
            }
        } else if let Some(relative) = path.strip_prefix(root).ok().and_then(|p| p.to_str()) {
            paths.push(relative.replace('\\', "/"));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_outside_git_is_walked_without_its_build() {
        let root = std::env::temp_dir().join(format!("tidy-tree-{}", std::process::id()));
        for folder in ["src", "target/debug", "node_modules"] {
            std::fs::create_dir_all(root.join(folder)).expect("the test makes its folder");
        }
        for file in ["src/a.rs", "target/debug/b.rs", "node_modules/c.js", "d.md"] {
            std::fs::write(root.join(file), "x").expect("the test writes its file");
        }
        let tree = Tree::read(&root).expect("the test's own tree reads");
        std::fs::remove_dir_all(&root).expect("the test removes its folder");
        let paths: Vec<&str> = tree.files.iter().map(|f| f.path.as_str()).collect();
        assert_eq!(paths, ["d.md", "src/a.rs"]);
    }
}
