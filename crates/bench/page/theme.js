// Light or dark: what the system says, until the user says otherwise.

const KEPT = "stripwright theme";

function kept() {
  try { return localStorage.getItem(KEPT); } catch { return null; }
}

export function applyTheme() {
  const choice = kept();
  if (choice === "light" || choice === "dark") document.documentElement.dataset.theme = choice;
  else delete document.documentElement.dataset.theme;
}

export function toggleTheme() {
  const dark = document.documentElement.dataset.theme === "dark"
    || (!document.documentElement.dataset.theme && matchMedia("(prefers-color-scheme: dark)").matches);
  try { localStorage.setItem(KEPT, dark ? "light" : "dark"); } catch { /* it then holds for this visit only */ }
  document.documentElement.dataset.theme = dark ? "light" : "dark";
  return dark ? "light" : "dark";
}
