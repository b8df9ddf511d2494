//! One client, and what belongs to no client, as JSON.

use serde_json::{Value, json};

use crate::access::Reader;
use crate::error::Error;
use crate::id::{ClientId, PhotographId, RoutineId};
use crate::text::{Document, Json};
use crate::time::Time;

/// Indented bytes.
pub fn pretty(value: &Value) -> Result<Vec<u8>, Error> {
    serde_json::to_vec_pretty(value).map_err(Error::internal)
}

/// A kept document as JSON; one that is nested too deeply for this reader as its text.
fn kept(document: &Json) -> Value {
    serde_json::from_str(document.as_str()).unwrap_or_else(|_| json!(document.as_str()))
}

fn at(time: Time) -> Value {
    json!(time.to_string())
}

fn or<T: ToString>(value: Option<T>) -> Value {
    value.map_or(Value::Null, |v| json!(v.to_string()))
}

fn each<T>(rows: Vec<T>, one: impl FnMut(T) -> Result<Value, Error>) -> Result<Value, Error> {
    Ok(Value::Array(rows.into_iter().map(one).collect::<Result<Vec<_>, Error>>()?))
}

/// Everything about a client; `pictures` says where each photograph was written.
pub fn client(r: &Reader<'_>, id: ClientId, pictures: &[(PhotographId, String)]) -> Result<Value, Error> {
    let known = r.client(id)?;
    let d = known.details;
    let readings = r.readings(id)?;
    let tone = known.tone.map(|t| json!({ "class": t.class, "typology_angle_degrees": t.ita, "at": at(t.at) }));
    Ok(json!({
        "number": id.number(),
        "name": d.name,
        "birth": or(d.birth),
        "language": d.language,
        "email": d.email,
        "phone": d.phone,
        "address": d.address,
        "notes": d.notes,
        "hands": d.hands.word(),
        "tone": tone,
        "created": at(known.created),
        "changed": at(known.changed),
        "consents": each(r.consents(id)?, |c| Ok(json!({
            "kind": c.kind.words(), "given": c.given, "at": at(c.at), "wording": c.wording,
        })))?,
        "intakes": each(r.intakes(id)?, |i| Ok(json!({
            "at": at(i.at),
            "until": or(i.until),
            "answers": match &i.answers { Document::Json(d) => kept(d), Document::Toml(d) => json!({ "toml": d.as_str() }) },
        })))?,
        "clinician_words": each(r.clinician_words(id)?, |w| Ok(json!({
            "condition": w.condition, "where": w.place, "who": w.who, "said": w.said.to_string(),
            "until": w.until.to_string(), "at": at(w.at), "withdrawn": or(w.withdrawn),
        })))?,
        "visits": each(r.visits(id)?, |v| Ok(json!({
            "number": v.id.number(),
            "at": at(v.at),
            "conditions": kept(&v.conditions),
            "photographs": photographs(r, v.id, pictures)?,
            "measurements": each(r.measurements(v.id)?, |m| Ok(json!({
                "at": at(m.at), "photograph": m.photograph.map(PhotographId::number), "body": kept(&m.body),
            })))?,
            "readings": each(readings.iter().filter(|of| of.visit == v.id).collect(), |of| Ok(json!({
                "name": of.name, "side": of.side.word(), "mean": of.mean, "count": of.count, "ss": of.ss,
            })))?,
        })))?,
        "routines": routines(r, Some(id))?,
        "sessions": sessions(r, Some(id))?,
        "notes": each(r.notes(id)?, |n| Ok(json!({
            "kind": n.kind.word(), "at": at(n.at), "changed": at(n.changed),
            "visit": n.visit.map(|v| v.number()), "text": n.text,
        })))?,
        "weeks": each(r.weeks(id)?, |w| Ok(json!({
            "number": w.id.number(), "first": w.first.to_string(), "days": w.days,
            "routine_version": w.version.map(|v| v.number()), "at": at(w.at), "plan": kept(&w.body),
            "ended": w.ended.as_ref().map(|e| json!({ "day": e.day.to_string(), "reason": e.reason })),
        })))?,
        "home_notes": each(r.home_notes(id)?, |h| Ok(json!({
            "day": h.day.to_string(), "weeks": h.weeks.map(|w| w.number()), "at": at(h.at), "note": kept(&h.body),
        })))?,
        "takehomes": takehomes(r.takehomes(id)?)?,
        "courses": each(r.courses_of(id)?, |(course, member)| Ok(json!({
            "number": course.id.number(), "name": course.name, "joined": at(member.joined),
            "left_out": member.left_out.map(|l| json!({ "at": at(l.at), "reason": l.reason })),
            "words": each(r.course_words(course.id)?.into_iter().filter(|w| w.client == id).collect(), |w| Ok(json!({
                "at": at(w.at), "left_out": w.left_out, "reason": w.reason,
            })))?,
        })))?,
    }))
}

fn photographs(r: &Reader<'_>, visit: crate::VisitId, pictures: &[(PhotographId, String)]) -> Result<Value, Error> {
    each(r.photographs(visit)?, |p| {
        let file = pictures.iter().find(|(id, _)| *id == p.id).map(|(_, file)| file);
        let corrections = each(r.corrections(p.id)?, |c| Ok(json!({ "at": at(c.at), "body": kept(&c.body) })))?;
        Ok(json!({
            "number": p.id.number(), "shot": p.shot, "media": p.media, "width": p.width, "height": p.height,
            "at": at(p.at), "sha256_as_taken": crate::header::hex(&p.sha256), "file": file, "corrections": corrections,
        }))
    })
}

fn routines(r: &Reader<'_>, client: Option<ClientId>) -> Result<Value, Error> {
    each(r.routines(client)?, |routine| {
        Ok(json!({
            "number": routine.id.number(), "name": routine.name, "created": at(routine.created),
            "versions": versions(r, routine.id)?,
        }))
    })
}

fn takehomes(rows: Vec<crate::Takehome>) -> Result<Value, Error> {
    each(rows, |t| {
        Ok(json!({
            "code": t.code, "routine_version": t.version.number(), "day": t.day.to_string(),
            "language": t.language, "at": at(t.at),
        }))
    })
}

fn courses(r: &Reader<'_>) -> Result<Value, Error> {
    each(r.courses()?, |c| {
        let members = each(r.course_members(c.id)?, |m| Ok(json!(m.client.number())))?;
        Ok(json!({
            "number": c.id.number(), "name": c.name, "first": c.first.to_string(), "days": c.days, "at": at(c.at),
            "plan": kept(&c.body), "clients": members, "erased": c.erased,
        }))
    })
}

fn texts(r: &Reader<'_>) -> Result<Value, Error> {
    each(r.texts()?, |t| {
        Ok(json!({
            "number": t.id.number(), "title": t.title, "kind": t.kind, "file": t.file, "text": t.body,
            "countries": t.countries, "made": at(t.made), "changed": at(t.changed), "rules": t.rules,
            "checked": at(t.checked), "findings": kept(&t.findings), "findings_before": t.before.as_ref().map(kept),
        }))
    })
}

fn films(r: &Reader<'_>) -> Result<Value, Error> {
    each(r.films()?, |f| {
        Ok(json!({
            "number": f.id.number(), "routine": f.routine.number(), "routine_version": f.version.number(), "name": f.name,
            "language": f.language, "made": at(f.made), "changed": at(f.changed), "film": kept(&f.body),
        }))
    })
}

fn own_rules(r: &Reader<'_>) -> Result<Value, Error> {
    each(r.own_rules()?, |o| {
        Ok(json!({
            "number": o.id.number(), "name": o.name, "made": at(o.made), "changed": at(o.changed), "toml": o.body.as_str(),
        }))
    })
}

fn versions(r: &Reader<'_>, routine: RoutineId) -> Result<Value, Error> {
    each(r.versions(routine)?, |v| {
        Ok(json!({ "number": v.number, "routine_version": v.id.number(), "at": at(v.at), "toml": v.body.as_str() }))
    })
}

fn sessions(r: &Reader<'_>, client: Option<ClientId>) -> Result<Value, Error> {
    each(r.sessions(client)?, |s| {
        Ok(json!({
            "at": at(s.at), "routine_version": s.version.number(), "log": kept(&s.log), "felt": kept(&s.felt),
        }))
    })
}

/// What belongs to no client.
pub fn practice(r: &Reader<'_>) -> Result<Value, Error> {
    let parts = r.atlas()?;
    let mut atlas = Vec::new();
    for part in parts {
        let states = each(r.atlas_history(&part.name)?, |p| Ok(json!({ "at": at(p.at), "toml": p.body.as_str() })))?;
        atlas.push(json!({ "part": part.name, "states": states }));
    }
    let settings: Vec<(String, String)> =
        r.all("SELECT name, value FROM settings ORDER BY name", [], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let settings: serde_json::Map<String, Value> = settings.into_iter().map(|(k, v)| (k, json!(v))).collect();
    let mut log = Vec::new();
    loop {
        let after = log.last().map_or(0, |c: &crate::Change| c.number);
        let more = r.changes(after, 10_000)?;
        if more.is_empty() {
            break;
        }
        log.extend(more);
    }
    let log = each(log, |c| Ok(json!({ "at": at(c.at), "done": c.done.word(), "kind": c.kind, "number": c.item })))?;
    Ok(json!({
        "atlas": atlas, "routines": routines(r, None)?, "sessions": sessions(r, None)?,
        "takehomes": takehomes(r.takehomes_for_all()?)?, "courses": courses(r)?, "texts": texts(r)?, "films": films(r)?, "own_rules": own_rules(r)?,
        "settings": settings, "change_log": log,
    }))
}
