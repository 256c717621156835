// Questions to the server. A refusal is thrown as an Error whose message is one line for people.

let token = "";

export class Refused extends Error {
  constructor(status, said) {
    super([said.problem, said.remedy].filter(Boolean).join("; "));
    this.status = status;
  }
}

async function asked(path, options = {}) {
  let answer;
  try {
    answer = await fetch(path, options);
  } catch {
    throw new Refused(0, {
      problem: "the page's server does not answer", remedy: "start it again with: gussetry page",
    });
  }
  const said = await answer.json().catch(() => ({ problem: "the server's answer is broken" }));
  if (!answer.ok) {
    throw new Refused(answer.status, said.problem ? said : { problem: "this cannot be asked so" });
  }
  return said;
}

export const get = (path, values = {}) => asked(`${path}?${new URLSearchParams(values)}`);

// The token is the running server's own: after a restart it is fetched again, once.
export async function post(path, values = {}, again = true) {
  try {
    return await asked(path, {
      method: "POST",
      headers: { "content-type": "application/json", "x-gussetry-token": token },
      body: JSON.stringify(values),
    });
  } catch (error) {
    if (error.status !== 403 || !again) throw error;
    await start();
    return post(path, values, false);
  }
}

export async function start() {
  const said = await get("/api/start");
  token = said.token;
  return said;
}
