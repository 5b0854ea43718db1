// The shelf: pictures of the sets, drawn when they come near.
import { watch } from "./pictures.js";

watch(document);
