/** The sending page: the link just made is copied, or handed to the phone's share sheet. */
const field = document.getElementById("fresh-link");
const [copy, share] = ["copy", "share-link"].map((id) => document.getElementById(id));

if (field && navigator.clipboard) {
  copy.hidden = false;
  copy.addEventListener("click", () => navigator.clipboard.writeText(field.value).catch(() => field.select()));
}
if (field && navigator.share) {
  share.hidden = false;
  share.addEventListener("click", () => navigator.share({ title: share.dataset.title, url: field.value }).catch(() => {}));
}
for (const form of document.forms) {
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = "yes";
  });
}
