// The key of the session leaves the address line: it is in a cookie that no script sees.
const here = document.body.dataset.here;
if (location.pathname.length > 12 && !location.pathname.startsWith("/note/") && here) {
  const known = ["/compare", "/learning", "/publish"].some((path) => location.pathname.startsWith(path));
  if (!known) history.replaceState(null, "", here);
}
