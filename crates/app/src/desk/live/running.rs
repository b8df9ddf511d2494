//! Who is being followed: one face for each browser, in memory, forgotten soon.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use vision::Follower;

/// At most so many browsers at once; whoever sent a frame longest ago is forgotten first.
const MOST: usize = 4;
/// Without a frame for so long, a face is forgotten.
const FORGOTTEN: Duration = Duration::from_secs(60);
/// Two frames of one browser are at least so far apart, from beginning to beginning. A page that keeps to 30 a second may send two
/// soon after each other when the first had to wait.
const APART: Duration = Duration::from_millis(8);

/// What is known of one face between frames.
pub struct Face {
    pub follower: Follower,
    /// When the last frame was begun.
    begun: Option<Instant>,
}

/// Why a frame is not looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wait {
    /// The frame before it has not been answered yet.
    Busy,
    /// It came too soon after the last.
    Soon,
}

struct One {
    cookie: Arc<str>,
    asked: Instant,
    face: Arc<Mutex<Face>>,
}

/// Every face that is being followed.
#[derive(Default)]
pub struct Running(Mutex<Vec<One>>);

impl Running {
    /// The face of this browser; `begin` makes it where there is none.
    fn of<E>(&self, cookie: &Arc<str>, begin: impl FnOnce() -> Result<Follower, E>) -> Result<Arc<Mutex<Face>>, E> {
        let now = Instant::now();
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.retain(|one| now.duration_since(one.asked) < FORGOTTEN);
        if let Some(one) = all.iter_mut().find(|one| one.cookie == *cookie) {
            one.asked = now;
            return Ok(Arc::clone(&one.face));
        }
        if all.len() >= MOST
            && let Some(oldest) = (0..all.len()).min_by_key(|i| all[*i].asked)
        {
            all.swap_remove(oldest);
        }
        let face = Arc::new(Mutex::new(Face { follower: begin()?, begun: None }));
        all.push(One { cookie: Arc::clone(cookie), asked: now, face: Arc::clone(&face) });
        Ok(face)
    }

    /// Lets `work` look at a frame of this browser, one at a time.
    ///
    /// # Errors
    /// Of `begin`; the inner one where the frame has to wait.
    pub fn next<T, E>(
        &self,
        cookie: &Arc<str>,
        begin: impl FnOnce() -> Result<Follower, E>,
        work: impl FnOnce(&mut Follower) -> T,
    ) -> Result<Result<T, Wait>, E> {
        let face = self.of(cookie, begin)?;
        let Ok(mut face) = face.try_lock() else { return Ok(Err(Wait::Busy)) };
        let now = Instant::now();
        if face.begun.is_some_and(|at| now.duration_since(at) < APART) {
            return Ok(Err(Wait::Soon));
        }
        face.begun = Some(now);
        Ok(Ok(work(&mut face.follower)))
    }

    /// Forgets the face of this browser.
    pub fn end(&self, cookie: &Arc<str>) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).retain(|one| one.cookie != *cookie);
    }

    /// Forgets whoever has sent no frame for a minute.
    pub fn sweep(&self) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).retain(|one| one.asked.elapsed() < FORGOTTEN);
    }

    /// Forgets everybody.
    pub fn forget(&self) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::own;

    #[test]
    fn few_are_followed_each_one_frame_at_a_time_and_all_are_forgotten() {
        let running = Running::default();
        let cookies: Vec<Arc<str>> = (0..MOST + 2).map(|i| Arc::from(format!("{i}"))).collect();
        let one = |c: &Arc<str>| running.next(c, own::follower, |_| ()).map_err(|e| e.0);
        for cookie in &cookies {
            assert_eq!(one(cookie), Ok(Ok(())));
        }
        let known = || running.0.lock().expect("whole").len();
        assert_eq!(known(), MOST, "more are followed than may be");
        let last = &cookies[MOST + 1];
        assert_eq!(one(last), Ok(Err(Wait::Soon)), "a frame right after the last is looked at");
        std::thread::sleep(2 * APART);
        let within = running.next(last, own::follower, |_| one(last)).map_err(|e| e.0);
        assert_eq!(within, Ok(Ok(Ok(Err(Wait::Busy)))), "two frames of one browser are looked at at once");
        running.end(last);
        assert_eq!(known(), MOST - 1);
        running.forget();
        assert_eq!(known(), 0);
    }
}
