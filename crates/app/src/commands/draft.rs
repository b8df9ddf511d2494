//! `draft REQUEST`: the best routine for a request, with its reasons.

use std::path::{Path, PathBuf};

use clap::ArgMatches;
use plan::atlas::Atlas;
use plan::draft::Draft;
use plan::reading::write_routine;
use plan::request::Request;
use plan::solve::Outcome as Drafted;
use vocab::Finding;

use super::{atlas, beside, clearance, day, json, path};
use crate::files;
use crate::json::draft::Routine;
use crate::outcome::{Code, Outcome};
use crate::tell::{self, plain};

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let (atlas, today, file) = (atlas(args)?, day(args)?, path(args, "request")?);
    let request = Request::parse(&file.display().to_string(), &files::read(file)?, &atlas)?;
    let clearance = clearance(&atlas, file, request.audience, request.answers.as_deref(), today)?;
    if let Some(out) = args.get_one::<PathBuf>("instance") {
        let problem = match plan::solve::instance(&atlas, &request, &clearance) {
            Ok(instance) => plan::solve::json::to_json(&atlas, &instance),
            Err(none) => {
                let why = tell::no_draft(&atlas, &clearance, &none);
                plan::solve::json::without_problem(&atlas, &request, &why)
            }
        };
        files::write(out, &format!("{problem}\n"), file)?;
    }
    let drafted = plan::solve::draft(&atlas, &request, &clearance);
    let code = match &drafted {
        Drafted::Draft(draft) => {
            if let Some(out) = args.get_one::<PathBuf>("svg") {
                files::write(out, &svg(&atlas, draft), file)?;
            }
            if let Some(out) = args.get_one::<PathBuf>("toml") {
                let steps: Vec<_> = draft.steps.iter().map(|s| s.step.clone()).collect();
                let answers = request.answers.as_deref().map(|name| answers_from(file, name, out));
                let written = write_routine(&atlas, request.minutes, request.audience, answers.as_deref(), &steps);
                files::write(out, &written, file)?;
            }
            Code::Done
        }
        Drafted::None(_) => Code::NoDraft,
    };
    if args.get_flag("json") {
        return Ok(json(&Routine::new(&atlas, &request, &clearance, &drafted), code));
    }
    Ok(match &drafted {
        Drafted::Draft(draft) => Outcome::done(plain::routine(&atlas, &request, &clearance, draft)),
        Drafted::None(none) => {
            let err = plain::none(&atlas, &clearance, none);
            Outcome { out: String::new(), err, code }
        }
    })
}

fn svg(atlas: &Atlas, draft: &Draft) -> String {
    crate::drawing::sheet(atlas, draft)
}

/// The answers file as the written routine must name it: by its name alone when both lie in one folder.
fn answers_from(request: &Path, name: &str, out: &Path) -> String {
    let folder = |path: &Path| {
        let parent = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        parent.canonicalize().ok()
    };
    if folder(request) == folder(out) {
        return name.to_owned();
    }
    let path = beside(request, name);
    path.canonicalize().unwrap_or(path).display().to_string()
}
