//! A film as it stands today: its routine screened anew for an audience, and the kit made of what is left.

use cabinet::{Error, Film, FilmId, Reader, Routine, Version};
use maud::{Markup, html};
use plan::atlas::Atlas;
use plan::reading::RoutineFile;
use plan::routine::Step;

use super::body::Body;
use crate::catalogue::{Language, atlas_in, in_language, text};
use crate::desk::editor::{self, ready, runnable::Runnable};
use crate::desk::publish::standing::Standing;
use crate::filming::{Kit, Options, stills};

/// What is kept of a film, and what it is made of.
pub struct Known {
    /// As it is kept.
    pub film: Film,
    /// Its body, read.
    pub body: Body,
    /// The routine.
    pub kept: Routine,
    /// The version it holds.
    pub version: Version,
    /// The number of the routine's latest version.
    pub latest: u32,
    /// The rules of the claims check as they stand.
    pub standing: Standing,
}

/// A film that may be shown.
pub struct Made {
    /// Everything that is made of it.
    pub kit: Kit,
    /// When each step would begin without tapped times.
    pub planned: Vec<f64>,
    /// What of the routine everybody may do.
    pub runnable: Runnable,
    /// There are tapped times, and they belong to other steps than these.
    pub outdated: bool,
}

impl Known {
    /// Reads it.
    ///
    /// # Errors
    /// There is no such film; of the store.
    pub fn read(r: &Reader<'_>, id: FilmId) -> Result<Known, Error> {
        let film = r.film(id)?;
        let versions = r.versions(film.routine)?;
        let latest = versions.last().map_or(0, |v| v.number);
        let version = versions.into_iter().find(|v| v.id == film.version);
        let version = version.ok_or(cabinet::ErrorKind::NoSuch(cabinet::VersionId::WORD, 0))?;
        Ok(Known {
            body: Body::read(film.body.as_str()),
            kept: r.routine(film.routine)?,
            standing: Standing::read(r)?,
            version,
            latest,
            film,
        })
    }

    /// The language of what is said.
    pub fn language(&self) -> Language {
        Language::parse(&self.film.language).unwrap_or_default()
    }

    /// The kit; or the page's part that says why there is none today.
    ///
    /// # Errors
    /// Markup: the gate refuses, or options and times contradict each other.
    pub fn made(&self, atlas: &Atlas) -> Result<Made, Markup> {
        self.made_in(atlas, self.language(), &self.body)
    }

    /// The same in another language and with another body.
    ///
    /// # Errors
    /// As [`Known::made`].
    pub fn made_in(&self, atlas: &Atlas, language: Language, body: &Body) -> Result<Made, Markup> {
        let (file, runnable) = passed(atlas, &self.kept, &self.version)?;
        let kit = |options: &Options, times: Option<&[f64]>| {
            Kit::new(atlas, &self.film.name, &file, &runnable, language, options, times)
                .map_err(|why| short(&self.film.name, &why))
        };
        // Without times the length of the finished film says nothing.
        let planned = kit(&Options { length: None, ..body.options.clone() }, None)?;
        let starts: Vec<f64> = planned.acts.iter().map(|a| a.from).collect();
        let Some(tapped) = &body.tapped else {
            return Ok(Made { kit: planned, planned: starts, runnable, outdated: false });
        };
        match tapped.of(planned.names()) {
            Some(times) => {
                Ok(Made { kit: kit(&body.options, Some(times))?, planned: starts, runnable, outdated: false })
            }
            None => Ok(Made { kit: planned, planned: starts, runnable, outdated: true }),
        }
    }

    /// The address of its page.
    pub fn at(&self) -> String {
        format!("/publish/films/{}", self.film.id)
    }

    /// The title that stands over it: the practitioner's own, or the one that is suggested.
    pub fn title<'k>(&'k self, kit: &'k Kit) -> &'k str {
        if self.body.title.is_empty() { kit.title() } else { &self.body.title }
    }

    /// The description as a file: the title that was chosen on its first line.
    pub fn description(&self, kit: &Kit) -> String {
        format!("{}\n\n{}", self.title(kit), below(&kit.description))
    }

    /// Does something with the film's steps in its language.
    pub fn drawn<T>(&self, atlas: &Atlas, steps: &[Step], work: impl FnOnce(stills::Given<'_>) -> T) -> T {
        let worded = atlas_in(self.language(), atlas);
        let given = stills::Given { atlas: &worded, steps, mirrored: self.body.options.on.mirrored() };
        in_language(self.language(), || work(given))
    }
}

/// A description without the title on its first line.
pub fn below(description: &str) -> &str {
    description.split_once("\n\n").map_or(description, |(_, rest)| rest)
}

/// The routine through the gate for an audience.
///
/// # Errors
/// Markup that says why not, and leads to where it is mended.
pub fn passed(atlas: &Atlas, kept: &Routine, version: &Version) -> Result<(RoutineFile, Runnable), Markup> {
    let nobody = editor::page::Whose {
        client: None,
        clearance: plan::screening::Clearance::audience(atlas),
        one_hand: None,
        felt: plan::session::Memory::default(),
    };
    let file = editor::read(atlas, version);
    match (file, Runnable::for_audience(atlas, kept, version)) {
        (Some(file), Ok(runnable)) => Ok((file, runnable)),
        (_, Err(why)) => Err(ready::refused(atlas, kept, &nobody, Some(&why))),
        (None, _) => Err(ready::refused(atlas, kept, &nobody, None)),
    }
}

fn short(name: &str, why: &str) -> Markup {
    html! {
        div.short {
            h1 { (name) }
            div.missing role="alert" { p { (text("film.not_made")) } p.plainly { (crate::catalogue::sentence_case(why)) } }
        }
    }
}
