// What an outing teaches is being made out: asks how far that has come, and loads the page again when it is done.

const ASK_EVERY_MS = 700;

const notice = document.getElementById("teaching");
const bar = notice.querySelector("progress");

async function ask() {
  let state;
  try {
    const answer = await fetch(notice.dataset.state, { headers: { Accept: "application/json" } });
    state = await answer.json();
  } catch {
    setTimeout(ask, 4 * ASK_EVERY_MS); // the server may be starting again
    return;
  }
  if (state.is_done) {
    location.reload();
    return;
  }
  if (state.n_bursts) {
    bar.max = state.n_bursts;
    bar.value = state.n_done;
    document.getElementById("n-done").textContent = state.n_done;
    document.getElementById("n-bursts").textContent = state.n_bursts;
  }
  setTimeout(ask, ASK_EVERY_MS);
}

setTimeout(ask, ASK_EVERY_MS);
